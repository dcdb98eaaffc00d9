"""A page of plain Python over what was done: what earns credit, when the gate is open, what a release is worth.

It knows the one procedure of `procedure.py`, folds nothing incrementally, and is asked about the whole job each time.
"""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from tests.plain.deeds import Deed, Taken, in_order
from tests.plain.procedure import REBUILD, Plan
from tests.plain.state import Hold
from tests.plain.work import Work

TOUCHES = {"step", "rework", "correction", "amendment", "hold", "condemn"}
STAYS = {
    "phone",
    "fork",
    "paused",
    "offered",
    "order",
    "wall",
    "twice",
    "kind",
    "unqualified",
    "dependent",
    "undone",
} | {"other", "newer"}
"""What no words cure: it was so when the act was done."""


class Model(Work):
    """The job after all its deeds: work, decisions, words, and the release."""

    @classmethod
    def of(cls, deeds: Sequence[Deed], taken: Taken, plan: Plan = REBUILD) -> "Model":
        model = cls(taken, plan)
        for at, deed in in_order(deeds):
            model.take(deed, at)
        return model

    def take(self, deed: Deed, at: datetime) -> None:
        self.deeds[deed.id], self.times[deed.id], self.acted[deed.id] = deed, at, at
        over, before = any(self.deeds[one].kind == "release" for one in self.against), self.credited()
        why = self._common(deed, at)
        self.against[deed.id] = why
        getattr(self, f"_{deed.kind}")(deed, at, why)
        if "fork" in why:
            needs = self.holds[deed.id].needs if deed.id in self.holds else 1
            self.holds[deed.id] = Hold("fork", needs)
        fails = "failed" in why or "out" in why
        if over and (deed.kind in TOUCHES or fails or before - self.credited()):
            self.since.add(deed.id)
        self.last[deed.phone] = deed

    def _hold(self, deed: Deed, _at: datetime, _why: set[str]) -> None:
        self.holds[deed.id] = Hold("hand")

    def _clear(self, deed: Deed, at: datetime, why: set[str]) -> None:
        named = deed.says["hold"]
        hold = self.holds.get(named) or (Hold("condemned") if named == self.condemned else None)
        if not self.taken.may(deed.who, "release", at):
            why.add("unqualified")
        if hold is None or deed.who in hold.cleared or (hold.why != "hand" and self.deeds[named].who == deed.who):
            why.add("clears nothing")
        if why or hold is None:
            return
        if named == self.condemned:
            self.condemned = None
            return
        hold.cleared.add(deed.who)
        if len(hold.cleared) == hold.needs:
            del self.holds[named]
            self._decided(named, hold)

    def _decided(self, named: UUID, hold: Hold) -> None:
        if hold.why == "near" and self.reading and self.reading.deed == named:
            self.reading.counts = self.reading.accepted = True
            self.against[named] -= {"near"}
            self._doubt(self.reading)
        if hold.why == "count":
            self.against[named] -= {"count"}
            self._ground()

    def _move(self, deed: Deed, at: datetime, why: set[str]) -> None:
        """To the job's own revision, which keeps it, or to a later one in force: what that words otherwise is undone."""
        named, known = deed.says["revision"], self.taken.revisions
        in_force = {number for number, found in known.items() if found.since <= at}
        if not self.taken.may(deed.who, "release", at):
            why.add("unqualified")
        if named != self.revision and (named < self.revision or named not in in_force):
            why.add("nowhere")
        if why:
            return
        if named == self.revision:
            self.kept |= in_force
            return
        before, self.plan, self.revision = self.plan, known[named].plan, named
        for step in before.steps:
            wordings = [plan.wordings.get(step, 1) for plan in (before, self.plan)]
            if step not in self.plan.steps or wordings[0] != wordings[1]:
                self._undo_one(step, deed.id, answers=True)

    def _pause(self, deed: Deed, _at: datetime, _why: set[str]) -> None:
        self.paused = deed.id

    def _resume(self, deed: Deed, _at: datetime, why: set[str]) -> None:
        if not deed.says["state_read"]:
            why.add("unread")
        self.paused = self.paused if why else None

    def _hand_over(self, deed: Deed, at: datetime, why: set[str]) -> None:
        accepts = deed.says.get("accepts")
        if accepts is None:
            if self.offered is not None and not self._may_accept(deed, at, self.offered):
                why.add("not his")
            self.offered = self.offered if why else deed.id
            return
        if accepts != self.paused and not self._may_accept(deed, at, accepts):
            why.add("not his")
        if not why:
            self.offered = None if accepts == self.offered else self.offered
            self.paused = None

    def _may_accept(self, deed: Deed, at: datetime, accepts: UUID) -> bool:
        if self.offered is None or accepts != self.offered:
            return False
        offer = self.deeds[self.offered]
        return deed.who in {offer.who, offer.says["to"]} or self.taken.may(deed.who, "release", at)

    def _condemn(self, deed: Deed, at: datetime, why: set[str]) -> None:
        first = deed.says.get("concurs_with")
        if first is None:
            self.condemned = self.condemned if why else deed.id
            return
        second = first == self.condemned and self.deeds[first].who != deed.who
        if not second or not (self.taken.may(deed.who, "verify", at) or self.taken.may(deed.who, "release", at)):
            why.add("no second")
        self.concurred = self.concurred or not why

    def _amendment(self, deed: Deed, at: datetime, why: set[str]) -> None:
        target = self.deeds.get(deed.says["amends"])
        said = deed.content
        is_his = target is not None and target.id != deed.id and target.who == deed.who
        same = target is not None and (target.said_kind, target.content.get("step")) == (said["kind"], said.get("step"))
        if why or target is None or not is_his or not same or target.id not in self.said_of(target.id):
            why.add("amends nothing")
            return
        at = self.acted[deed.id] = self.acted[target.id]
        spoken = [one for one in self.said_of(target.id) if one != deed.id]
        why |= {reason for said in spoken for reason in self.against[said]} & STAYS
        done, undone = self.done.get(said.get("step")), self.undone.get(said.get("step"))
        if self.is_later(done, target.id) or self.is_later(undone, target.id):
            why.add("undone")
        for said_before in spoken:
            self._withdraw(self.deeds[said_before])
        if said["kind"] in {"step", "rework"}:
            self._read_words(said, at, why)
            self._claim(deed, said["step"], why)
        elif said["kind"] == "reading":
            self._govern(deed, said, at, why, again=True)
        else:
            why.add("seen")  # what was seen in a verification is never amended into a pass

    def _withdraw(self, target: Deed) -> None:
        self.against[target.id].add("amended")
        if self.reading and self.reading.deed == target.id:
            self._drop()
        self.done = {step: one for step, one in self.done.items() if one != target.id}
        self.kits = [(one, kit) for one, kit in self.kits if one != target.id]
        if self.holds.get(target.id, Hold("")).why == "back":
            del self.holds[target.id]
        if target.id in self.run:
            self._break()

    def _release(self, deed: Deed, at: datetime, why: set[str]) -> None:
        why |= self._in_hand(deed, at)
        if not self.taken.may(deed.who, "release", at):
            why.add("unqualified")
        if self.shut(at):
            why.add("shut")
        if not why:
            self.released = deed.id
