"""Work and readings, and what the metal makes of them, whoever did it."""

from datetime import datetime
from typing import Any
from uuid import UUID

from tests.plain.deeds import Deed
from tests.plain.procedure import FACE, FAILS, FALLS, GRIND_VOIDS, GRINDS, PASSES
from tests.plain.state import Hold, Reading, State
from tests.plain.things import GAUGES


class Work(State):
    """Steps, readings, corrections and cycles."""

    def _step(self, deed: Deed, at: datetime, why: set[str]) -> None:
        step = deed.says["step"]
        if step not in self.plan.steps:  # of a revision that the job is not under
            why |= self._in_hand(deed, at)
            return
        why |= self._at(step, deed, at)
        if step in {"gap", "verify"}:
            why.add("kind")
        if deed.kind == "step" and step in self.done:
            why.add("twice")
        self._read_words(deed.says, at, why)
        if step == "adjust":
            self.touched.add(deed.who)
        self_too = (step,) if deed.kind == "rework" or why - {"twice"} else ()
        self._undo((*self_too, *self.plan.voids.get(step, ())), deed.id, answers=not why)
        self._claim(deed, step, why)

    _rework = _step

    def _read_words(self, says: dict[str, Any], at: datetime, why: set[str]) -> None:
        if says["step"] == "adjust" and says["adjustment"]["turns_back"]["text"] != "1 1/4":
            why.add("turns")
        kit = self.taken.kits.get(says.get("kit", ""))
        if says["step"] == "kit" and not (kit and kit.may_be_issued(at)):
            why.add("no such kit")

    def _claim(self, deed: Deed, step: str, why: set[str]) -> None:
        if not why:
            self.done[step] = deed.id
            self.rests.setdefault(step, []).append(deed.id)
            if step == "kit":
                self._issue(deed)

    def _issue(self, deed: Deed) -> None:
        """Another kit cures what a recalled one holds, or one that parts took back; words about a recalled one do not."""
        serial = deed.content["kit"]
        if deed.kind != "amendment":
            self.holds = {one: hold for one, hold in self.holds.items() if hold.why not in {"recall", "back"}}
        self.kits.append((deed.id, serial))
        kit = self.taken.kits[serial]
        recalled, back = kit.recalled, kit.taken_back(self.acted[deed.id])
        if recalled or back:
            since = min(one for one in (recalled, back) if one)
            self.holds[deed.id] = Hold("recall" if recalled else "back", 2, since)

    def _reading(self, deed: Deed, at: datetime, why: set[str]) -> None:
        why |= self._at("gap", deed, at)
        self._govern(deed, deed.says, at, why, again=bool(deed.says.get("reason")))

    def _govern(self, deed: Deed, says: dict[str, Any], at: datetime, why: set[str], *, again: bool) -> None:
        value, code = says["value"], says.get("gauge", GAUGES[0])
        gauge = self.taken.gauges[code]
        if value not in FAILS and self.asks and not again:
            why.add("again")
        if deed.kind == "amendment" and value not in FAILS and self._read_since(deed.says["amends"]):
            why.add("since")
        if not gauge.is_good(at):
            why.add("gauge")
        proper = not why
        if value not in PASSES:
            why.add("near" if value == "near" else "out")
        if not proper and value not in FAILS:
            return
        self._drop()
        self.reading = Reading(deed.id, value, code, counts=proper and value in PASSES)
        self.rests.setdefault("gap", []).append(deed.id)
        if proper:
            self.asks = value if value in {"low", "beyond"} else None
            self.asked_by = deed.id
            if value in {"near", "beyond"}:
                self.holds[deed.id] = Hold(value)
            self.reading.doubt = gauge.doubt(at) if value in FALLS else None
            if value == "good":
                self._doubt(self.reading)

    def _doubt(self, reading: Reading) -> None:
        if reading.doubt:
            self.holds[reading.deed] = Hold("doubt", 2, reading.doubt)

    def _read_since(self, target: UUID) -> bool:
        asked = self.asked_by if self.asks else None
        return self.is_later(asked, target) or self.is_later(self.reading.deed if self.reading else None, target)

    def _correction(self, deed: Deed, at: datetime, why: set[str]) -> None:
        self.touched.add(deed.who)
        why |= self._in_hand(deed, at)
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
        why |= self._at("verify", deed, at)
        found = {
            "failed": not deed.says["good"],
            "gauge": not self.taken.gauges["TK-03"].is_good(at),
            "number": deed.says["cycle"] != len(self.run) + 1,
            "second": self.run and self.deeds[self.run[0]].who != deed.who,
        }
        why |= {reason for reason, is_so in found.items() if is_so}
        self._undo(self.plan.voids["verify"], deed.id, answers=not why)
        if not why:
            self.run.append(deed.id)
            self.rests.setdefault("verify", []).append(deed.id)
        elif "failed" in why:
            self._break()

    def _break(self) -> None:
        for one in self.run:
            self.against[one].add("undone")
        self.run = []
