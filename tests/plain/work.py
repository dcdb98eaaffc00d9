"""Work and readings, and what the metal makes of them, whoever did it."""

from datetime import datetime
from typing import Any
from uuid import UUID

from tests.plain.deeds import Deed
from tests.plain.procedure import FACE, GRIND_VOIDS, GRINDS, VOIDS
from tests.plain.state import Hold, Reading, State


class Work(State):
    """Steps, readings, corrections and cycles."""

    def _step(self, deed: Deed, at: datetime, why: set[str]) -> None:
        step = deed.says["step"]
        why |= self._at(step, deed.who, at)
        if step in {"gap", "verify"}:
            why.add("kind")
        if deed.kind == "step" and step in self.done:
            why.add("twice")
        self._read_words(deed.says, why)
        if step == "adjust":
            self.touched.add(deed.who)
        self_too = (step,) if deed.kind == "rework" or why - {"twice"} else ()
        self._undo((*self_too, *VOIDS.get(step, ())), deed.id, answers=not why)
        self._claim(deed, step, why)

    _rework = _step

    def _read_words(self, says: dict[str, Any], why: set[str]) -> None:
        if says["step"] == "adjust" and says["adjustment"]["turns_back"]["text"] != "1 1/4":
            why.add("turns")

    def _claim(self, deed: Deed, step: str, why: set[str]) -> None:
        if not why:
            self.done[step] = deed.id
            self.rests.setdefault(step, []).append(deed.id)

    def _reading(self, deed: Deed, at: datetime, why: set[str]) -> None:
        why |= self._at("gap", deed.who, at)
        self._govern(deed, deed.says, why, again=bool(deed.says.get("reason")))

    def _govern(self, deed: Deed, says: dict[str, Any], why: set[str], *, again: bool) -> None:
        value = says["value"]
        if value in {"good", "near"} and self.asks and not again:
            why.add("again")
        if deed.kind == "amendment" and value in {"good", "near"} and self._read_since(deed.says["amends"]):
            why.add("since")
        proper = not why
        if value != "good":
            why.add("near" if value == "near" else "out")
        if not proper and value in {"good", "near"}:
            return
        self._drop()
        self.reading = Reading(deed.id, value, counts=proper and value == "good")
        self.rests.setdefault("gap", []).append(deed.id)
        if proper:
            self.asks = value if value in {"low", "beyond"} else None
            self.asked_by = deed.id
            if value in {"near", "beyond"}:
                self.holds[deed.id] = Hold(value)

    def _read_since(self, target: UUID) -> bool:
        asked = self.asked_by if self.asks else None
        return self.is_later(asked, target) or self.is_later(self.reading.deed if self.reading else None, target)

    def _correction(self, deed: Deed, at: datetime, why: set[str]) -> None:
        self.touched.add(deed.who)
        why |= self._in_hand()
        asked = self.asks or (self.reading.value if self.reading else "")
        waits = asked == "near" and self.reading is not None and not self.reading.accepted
        found = {
            "unqualified": not self.taken.may(deed.who, "rebuild", at),
            "count": self.grinds >= GRINDS,
            "direction": not (asked == "low" or waits),
            "face": deed.says["face"] != FACE,
        }
        why |= {reason for reason, is_so in found.items() if is_so}
        if not why:
            self._ground()
        else:
            two = bool(why & {"count", "face"})  # the face is the casting
            self.holds[deed.id] = Hold("grind" if why - {"count"} else "count", 2 if two else 1)
        self._undo(("gap", *GRIND_VOIDS), deed.id, answers=not why)

    def _ground(self) -> None:
        self.grinds += 1
        self.asks = None
        self.holds = {one: hold for one, hold in self.holds.items() if hold.why != "grind" or hold.needs > 1}

    def _verification_cycle(self, deed: Deed, at: datetime, why: set[str]) -> None:
        why |= self._at("verify", deed.who, at)
        found = {
            "failed": not deed.says["good"],
            "number": deed.says["cycle"] != len(self.run) + 1,
            "second": self.run and self.deeds[self.run[0]].who != deed.who,
        }
        why |= {reason for reason, is_so in found.items() if is_so}
        self._undo(("last",), deed.id, answers=not why)
        if not why:
            self.run.append(deed.id)
            self.rests.setdefault("verify", []).append(deed.id)
        elif "failed" in why:
            self._break()

    def _break(self) -> None:
        for one in self.run:
            self.against[one].add("undone")
        self.run = []
