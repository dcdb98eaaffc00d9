"""Kits that are issued, changed, moved about and recalled, before and after the release."""

from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule

from jobs.domain.recall_set import RecallSet
from jobs.models.recall import RecallOutcome
from jobs.services.decide_recall import publish_recall
from jobs.services.move_kit import MovementRequest, move_kit
from jobs.services.propose_recall import propose_recall
from shops.domain.access import Role
from shops.domain.errors import Refusal
from tests.machine.hands import How
from tests.machine.releases import Releases, hows
from tests.plain.things import LOTS, Kit

A_WHILE = timedelta(seconds=30)  # parts act between whole minutes, the bench on them: nothing happens at the same time
serials = st.sampled_from(sorted({*LOTS, "K-4", "K-5"}))
lots = st.sampled_from(("L-1", "L-2"))
fitters = st.sampled_from(("RM-1", "RM-1", "SV-1", "JD-1"))


class Recalls(Releases):
    """The release is suspended, or the gate shut, whenever a kit of a recalled lot is in the coupling."""

    def __init__(self) -> None:
        super().__init__()
        self.published: dict[UUID, tuple[str, UUID, int]] = {}

    @initialize(
        done=st.sampled_from((0, 1, 8, 8, 9, 9, 9)),
        late=st.sampled_from(("", "kit", "kit", "pause")),
        recalled=st.sampled_from(("", "L-1", "L-1", "L-2", "L-2")),
    )
    def begin(self, done: int, late: str, recalled: str) -> None:
        """A part of a rebuild, or one that is released; a phone without signal has seen another kit, or a pause.

        Perhaps the one kit or the other is recalled, and then the phone syncs.
        """
        hands = self.hands
        if late == "pause":
            self.hide_a_pause()
        hands.go_on(min(done, 1))
        if late == "kit":
            hands.now += timedelta(minutes=3)
            hands.do("SV-1", "rework", {"step": "kit", "kit": "K-3", "reason": "The box was torn."}, How(sent=False))
        hands.go_on(min(done, 8) - 1)
        if done > 8:
            self.release("JD-1", 0, How())
        if recalled:
            self.recall(recalled, wakes=True)

    @rule()
    def hide_a_pause(self) -> None:
        """Two entries that are on their way, each by itself."""
        self.hands.do("SV-2", "pause", {"state_note": "Lunch."}, How(sent=False))
        self.hands.do("SV-2", "resume", {"state_read": True}, How(sent=False))
        self.hands.now += timedelta(minutes=1)

    @rule(phone=fitters, kit=serials, again=st.sampled_from((True, True, False)), how=hows)
    def issue(self, phone: str, kit: str, again: bool, how: How) -> None:
        body = {"step": "kit", "kit": self._label(kit), **({"reason": "Another one."} if again else {})}
        self.hands.do(phone, "rework" if again else "step", body, how)

    @precondition(lambda self: self._issues())
    @rule(data=st.data(), kit=serials, how=hows)
    def name_another_kit(self, data: st.DataObject, kit: str, how: How) -> None:
        found = self._issues()
        target = found[-1 - data.draw(st.integers(0, min(len(found), 3) - 1))]
        content = {**target.content, "kind": target.said_kind, "kit": self._label(kit)}
        says = {"amends": target.id, "reason": "Misread.", "content": content}
        self.hands.do(target.phone, "amendment", says, how)

    def _label(self, kit: str) -> str:
        """A kit that parts have received, or a label that was misread."""
        return kit if kit in self.hands.taken.kits else "K-0"

    def _issues(self) -> list[Any]:
        return [deed for deed in self.hands.deeds if deed.content.get("step") == "kit"]

    # Parts, and quality.

    @rule(
        named=st.one_of(st.just(""), serials),
        to=st.sampled_from(("stocked", "returned", "quarantined", "scrapped", "elsewhere")),
    )
    def move(self, named: str, to: str) -> None:
        """Parts put a kit somewhere, more often than not the one that is in the coupling."""
        hands, kit = self.hands, named or self.hands.told.kit or "K-1"
        known = hands.taken.kits.get(kit)
        if known is None:
            return
        hands.now += timedelta(minutes=1)
        kind, job = ("issued", hands.bench.other_job) if to == "elsewhere" else (to, None)
        request = MovementRequest(uuid4(), hands.bench.kits[kit], kind, None, job)
        try:
            with hands.bench.inside():
                move_kit(grant=hands.bench.grant(Role.PARTS), request=request, now=hands.now + A_WHILE)
        except Refusal:
            return
        assert known.place != "scrapped"
        assert known.recalled is None or to in {"quarantined", "scrapped"}
        known.moves.append((hands.now + A_WHILE, to))
        hands.tell()

    @rule(kit=st.sampled_from(("K-4", "K-5")), lot=lots)
    def receive(self, kit: str, lot: str) -> None:
        """A kit of a recalled lot is recalled as soon as it is there."""
        hands = self.hands
        if kit in hands.taken.kits:
            return
        hands.now += timedelta(minutes=1)
        with hands.bench.inside():
            hands.bench.receive_kit(kit, lot, hands.now)
        recalled = [one.recalled for one in hands.taken.kits.values() if one.lot == lot and one.recalled]
        hands.taken.kits[kit] = Kit(lot, min(recalled, default=None))
        hands.tell()

    @rule(lot=lots, wakes=st.booleans())
    def recall(self, lot: str, wakes: bool) -> None:
        """One proposes it, another publishes it, over the number that he was shown; perhaps phones come to life then."""
        hands, made = self.hands, uuid4()
        hands.now += timedelta(minutes=1)
        hit = [serial for serial, kit in hands.taken.kits.items() if kit.lot == lot]
        with hands.bench.inside():
            asked: dict[str, Any] = {"supplier_count": None, "reason": "Soft springs.", "now": hands.now}
            propose_recall(grant=hands.bench.grant(), identifier=made, wanted=RecallSet(lot=lot), **asked)
        assert not self._publish(uuid4(), made, len(hit), alone=True)
        assert not self._publish(uuid4(), made, len(hit) + 1, alone=False)
        decision = uuid4()
        assert self._publish(decision, made, len(hit), alone=False)
        self.published[made] = lot, decision, len(hit)
        self._swept(made, hit)
        if wakes:
            self.send_everything()

    def _publish(self, decision: UUID, recall: UUID, hits: int, *, alone: bool) -> bool:
        hands = self.hands
        try:
            with hands.bench.inside():
                grant = hands.bench.grant(Role.QUALITY if alone else Role.LEAD)
                asked: dict[str, Any] = {"hits": hits, "reason": None, "now": hands.now + A_WHILE}
                publish_recall(grant=grant, identifier=decision, recall=recall, **asked)
        except Refusal:
            return False
        return True

    def _swept(self, recall: UUID, hit: list[str]) -> None:
        """Each kit was found where the model says that it is; the release of a fitted one is suspended, once more."""
        hands = self.hands
        with hands.bench.inside():
            found = dict(RecallOutcome.objects.filter(recall=recall).values_list("kit__serial", "state"))
        expected = {serial: hands.told.where(serial) for serial in hit}
        if hands.released:
            expected = {serial: "fitted" if at == "in_work" else at for serial, at in expected.items()}
        assert found == expected, vars(hands.told)
        for serial in hit:
            kit = hands.taken.kits[serial]
            kit.recalled = kit.recalled or hands.now + A_WHILE
        hands.suspended = hands.suspended or "fitted" in found.values()
        hands.tell()

    @precondition(lambda self: self.published)
    @rule(data=st.data())
    def publish_again(self, data: st.DataObject) -> None:
        """Sent again, it sweeps nothing anew."""
        recall = list(self.published)[data.draw(st.integers(0, len(self.published) - 1))]
        _, decision, hits = self.published[recall]
        with self.hands.bench.inside():
            before = RecallOutcome.objects.count()
        assert self._publish(decision, recall, hits, alone=False)
        with self.hands.bench.inside():
            assert RecallOutcome.objects.count() == before
