"""What anybody may log, honestly or not."""

from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tests.machine.days import hows, phones, shots
from tests.machine.hands import How
from tests.machine.releases import Releases
from tests.machine.wire import with_kit, with_photos, with_turns
from tests.machine.words import Words
from tests.machine.world import PHONES
from tests.plain.procedure import FACE, STEPS, VALUES


class Work(Releases, Words):
    """Work, and other words about it, by everybody from every phone."""

    # Whatever anybody logs.

    @rule(
        phone=phones,
        step=st.sampled_from(STEPS),
        again=st.booleans(),
        turns=st.sampled_from(("1 1/4", "3/4")),
        photos=shots,
        how=hows,
    )
    def do_a_step(self, phone: str, step: str, again: bool, turns: str, photos: tuple[str, ...], how: How) -> None:
        body = with_turns({"step": step, **({"reason": "It slipped."} if again else {})}, turns)
        kind = "rework" if again else "step"
        self.hands.do(phone, kind, with_photos(with_kit(body, "K-1"), photos), how)

    @rule(
        phone=st.sampled_from(("RM-1", "SV-1", "JD-1", "JD-1", "EY-1")),
        value=st.sampled_from(sorted(VALUES)),
        why=st.booleans(),
        how=hows,
    )
    def read(self, phone: str, value: str, why: bool, how: How) -> None:
        self.hands.do(phone, "reading", {"step": "gap", "value": value, **({"reason": "A burr."} if why else {})}, how)

    @rule(phone=phones, face=st.sampled_from((FACE, FACE, "casting")), how=hows)
    def grind(self, phone: str, face: str, how: How) -> None:
        self.hands.do(phone, "correction", {"step": "gap", "face": face}, how)

    @rule(phone=phones, good=st.sampled_from((True, True, False)), skip=st.sampled_from((0, 0, 0, 1)), how=hows)
    def look(self, phone: str, good: bool, skip: int, how: How) -> None:
        cycle = len(self.hands.told.run) + 1 + skip
        self.hands.do(phone, "verification_cycle", {"step": "verify", "cycle": cycle, "good": good}, how)

    @precondition(lambda self: self._amendable())
    @rule(data=st.data(), own=st.sampled_from((True, True, True, False)), better=st.booleans(), photos=shots, how=hows)
    def amend(self, data: st.DataObject, own: bool, better: bool, photos: tuple[str, ...], how: How) -> None:
        found = self._amendable()
        target = found[-1 - data.draw(st.integers(0, min(len(found), 6) - 1))]
        phone = next(name for name in PHONES if (name[:2] == target.who) is own)
        content = {**target.content, "kind": target.said_kind}
        if content["kind"] == "reading":
            content["value"] = "good" if better else "low"
        elif content["kind"] == "verification_cycle":
            content["good"] = better
        else:
            content = with_turns(content, "1 1/4" if better else "3/4")
        says = {"amends": target.id, "reason": "Mistyped.", "content": content}
        self.hands.do(phone, "amendment", {**says, **({"evidence": list(photos)} if photos else {})}, how)

    @precondition(lambda self: "pin" in self.hands.told.done)
    @rule(photos=shots, how=hows)
    def name_other_photos(self, photos: tuple[str, ...], how: How) -> None:
        self.hands.name_photos(self.hands.told.done["pin"], photos, how)

    def _amendable(self) -> list[Any]:
        kinds = {"step", "rework", "reading", "verification_cycle"}
        return [deed for deed in self.hands.deeds if deed.said_kind in kinds]
