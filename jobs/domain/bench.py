"""The working state of a fold: what has credit now, what was measured, who did what.

It is mutable and private to the fold; `jobs.domain.job_state.state_of` takes a frozen picture of it.

The effects, in plain sentences:

1. A step done takes away the credit of what it voids, of what that voids in turn, and so on, whether or not
   the entry earns credit itself: the metal does not know who was qualified. Nor does what was good before stay
   good when it is done again badly.
2. Whoever did something is remembered as its doer, with or without credit.
3. A step has credit while it was performed (where it is more than a measurement), every characteristic of it
   passes, and its verification cycles are complete.
4. What loses its credit keeps its entries; each of them gets a finding that names what undid it.
5. A reading that failed stays in mind until a correction, a rework or a reading with a reason answers it, even if
   its step was undone in between by something that earned nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, fields
from datetime import datetime
from typing import Any
from uuid import UUID

from jobs.domain.entry import AmendmentBody, Entry
from jobs.domain.facts import Facts, RevisionFact
from jobs.domain.finding import Finding
from jobs.domain.procedure import CORRECT, Procedure, Step
from jobs.domain.remembered import Corrected, Done, KitIssued, Measured, OpenHold, Outcome
from jobs.domain.rules.r109_undone import undone_finding

__all__ = ["Bench", "Outcome"]

At = tuple[str, str]
"""A step and a characteristic of it."""


@dataclass(slots=True)
class Bench:
    """Everything the rules may look at while an entry is judged."""

    procedure: Procedure
    facts: Facts
    credited: dict[str, UUID] = field(default_factory=dict)  # step -> the entry that completed it
    performed: dict[str, Done] = field(default_factory=dict)  # step -> how it was done, with credit
    measured: dict[At, Measured] = field(default_factory=dict)
    asked: dict[At, Measured] = field(default_factory=dict)  # proper readings that failed and were not answered yet
    corrected: dict[At, list[Corrected]] = field(default_factory=dict)  # with credit
    amended: dict[UUID, list[UUID]] = field(default_factory=dict)  # entry -> amendments of it, or of those, in force
    undone: dict[str, tuple[UUID, str]] = field(default_factory=dict)  # step -> what undid it last, in words as well
    supports: dict[str, list[UUID]] = field(default_factory=dict)  # step -> entries its credit rests on
    doers: dict[str, set[UUID]] = field(default_factory=dict)  # scope or "correct" -> persons
    outcomes: dict[UUID, Outcome] = field(default_factory=dict)
    entries: dict[UUID, Entry] = field(default_factory=dict)
    times: dict[UUID, datetime] = field(default_factory=dict)  # when each was done, by the server's clock
    changed: set[UUID] = field(default_factory=set)
    cycles: list[UUID] = field(default_factory=list)  # the run of passed cycles since the last fail or void
    adjustment: UUID | None = None  # the last adjustment, with or without credit
    verification: UUID | None = None  # the cycle that completed the run
    failed_cycles: int = 0
    tight_early: set[str] = field(default_factory=set)  # steps whose fasteners were tightened before their time
    holds: dict[UUID, OpenHold] = field(default_factory=dict)
    kits: list[KitIssued] = field(default_factory=list)  # issued with credit; the last one is in the coupling
    paused_by: UUID | None = None
    offered_by: UUID | None = None  # the hand-over that nobody has accepted
    condemned_by: UUID | None = None
    concurred_by: UUID | None = None
    released_by: UUID | None = None
    signed_off: bool = False  # a release was signed, though its credit may have been lost since
    undermining: list[UUID] = field(default_factory=list)  # what was done, held or amended after the release
    undecided: RevisionFact | None = None  # a newer safety-critical revision about which nobody has decided
    kept_from: set[str] = field(default_factory=set)  # digests of revisions that a lead kept the job from
    moved_by: UUID | None = None
    last_of_device: dict[str, Entry] = field(default_factory=dict)  # key -> its newest entry on this job
    last_on_phone: dict[str, Entry] = field(default_factory=dict)  # device name -> the newest entry made on it
    last_by_person: dict[UUID, datetime] = field(default_factory=dict)  # when somebody last worked on the job
    last_entry: Entry | None = None

    def step(self, key: str) -> Step | None:
        return self.procedure.by_key.get(key)

    def title(self, key: str) -> str:
        step = self.procedure.by_key.get(key)
        return step.title if step else key

    def initials(self, person: UUID) -> str:
        found = self.facts.people.get(person)
        return found.initials if found else "somebody unknown"

    def did(self, scopes: Iterable[str], person: UUID) -> str | None:
        """The first of `scopes` that `person` has done on this job, with or without credit."""
        return next((scope for scope in scopes if person in self.doers.get(scope, ())), None)

    def record(self, entry: Entry, at: datetime, findings: tuple[Finding, ...]) -> bool:
        """Note an entry's outcome; answer whether it earns credit."""
        credit = not any(finding.withholds_credit for finding in findings)
        self.outcomes[entry.id] = Outcome(credit, findings)
        self.entries[entry.id] = entry
        self.times[entry.id] = at
        self.changed.add(entry.id)
        self.last_entry = entry
        return credit

    def is_later_work(self, entry: UUID, than: UUID) -> bool:
        """Whether one act came after another; an amendment has its place where what it amends was done."""
        order = list(self.entries)
        return order.index(self.act_of(entry)) > order.index(self.act_of(than))

    def act_of(self, entry: UUID) -> UUID:
        """The entry of what was done: of an amendment, the one that it amends in the end."""
        body = self.entries[entry].body
        return self.act_of(body.amends) if isinstance(body, AmendmentBody) and body.amends in self.entries else entry

    def said_of(self, entry: UUID) -> tuple[UUID, ...]:
        """Everything that speaks, or has spoken, of the same act: its entry, and the amendments that were taken."""
        act = self.act_of(entry)
        return (act, *self.amended.get(act, ()))

    def remember_doer(self, scope: str, person: UUID) -> None:
        self.doers.setdefault(scope, set()).add(person)

    def remember_corrector(self, person: UUID) -> None:
        self.remember_doer(CORRECT, person)

    def undo(self, keys: Iterable[str], by: Entry, because: str, *, answers: bool) -> None:
        """Take away the credit of `keys` and of all that they void in turn.

        `answers`: what undoes them was work with credit, so that a failed reading among them is answered.
        """
        for key in self.procedure.void_closure(keys):
            self.undo_step(key, by, because, answers=answers)

    def undo_step(self, key: str, by: Entry, because: str, *, answers: bool) -> None:
        """Take away the credit of one step, and say so on the entries that it rested on."""
        if self.credited.pop(key, None) is not None and self.signed_off:
            self.undermine(by)
        self.performed.pop(key, None)
        self.undone[key] = (by.id, because)
        step = self.procedure.by_key[key]
        for spec in step.readings:
            self.drop_reading((key, spec.key))
            if answers:
                self.asked.pop((key, spec.key), None)
        if step.verification is not None:
            self.cycles = []
            self.verification = None
        for entry in self.supports.pop(key, ()):
            if entry != by.id and self.outcomes[entry].credit:
                self.withdraw(entry, undone_finding(self.entries[entry].kind, step.title, because))

    def drop_reading(self, at: At) -> None:
        """A reading governs no more; a hold that waited for its acceptance, or doubts it, falls with it."""
        found = self.measured.pop(at, None)
        if found is None or not found.holds:
            return
        hold = self.holds.get(found.entry)
        if hold is None or hold.outlasts_readings:
            return
        if not any(other.entry == found.entry and other.holds for other in self.measured.values()):
            del self.holds[found.entry]

    def hold(self, hold: OpenHold) -> None:
        """Hold the job for an entry; what holds it for the same entry already goes on holding it."""
        before = self.holds.get(hold.entry)
        self.holds[hold.entry] = hold if before is None else before.joined(hold)

    def withdraw(self, entry: UUID, finding: Finding) -> None:
        """An entry that had credit loses it, and says why."""
        outcome = self.outcomes[entry]
        if outcome.credit:
            self.outcomes[entry] = Outcome(False, (*outcome.findings, finding))
            self.changed.add(entry)

    def accept(self, entry: UUID, rules: frozenset[int]) -> bool:
        """An entry that only waited for a decision by these rules has its credit now."""
        outcome = self.outcomes[entry]
        if not all(finding.rule in rules for finding in outcome.findings if finding.withholds_credit):
            return False
        self.outcomes[entry] = Outcome(True, outcome.findings)
        self.changed.add(entry)
        return True

    def support(self, step: str, entry: UUID) -> None:
        self.supports.setdefault(step, []).append(entry)

    def settle(self, step: Step, entry: Entry) -> None:
        """Give or take the step's credit, by what stands now."""
        if self.is_complete(step):
            self.credited.setdefault(step.key, entry.id)
        elif self.credited.pop(step.key, None) is not None and self.signed_off:
            self.undermine(entry)

    def is_complete(self, step: Step) -> bool:
        performed = self.performed.get(step.key)
        if performed is None and step.needs_performing:
            return False
        if performed is not None and performed.not_applicable:
            return not any((step.key, spec.key) in self.asked for spec in step.readings)
        if step.verification is not None and self.verification is None:
            return False
        return all(self.passes(step.key, spec.key) for spec in step.readings)

    def passes(self, step: str, characteristic: str) -> bool:
        found = self.measured.get((step, characteristic))
        return found is not None and found.passes

    def is_all_credited(self) -> bool:
        """Whether every step that is not optional has credit."""
        return all(step.optional or step.key in self.credited for step in self.procedure.steps)

    @property
    def undermined_by(self) -> UUID | None:
        """The last entry that undermines the release."""
        return self.undermining[-1] if self.undermining else None

    def undermine(self, by: Entry) -> None:
        """What was released is no more as it was."""
        if by.id not in self.undermining:
            self.undermining.append(by.id)

    @property
    def recalled_kit(self) -> KitIssued | None:
        """The kit that is in the coupling, if it has been recalled since it was issued."""
        issued = self.kits[-1] if self.kits else None
        kit = self.facts.kits.get(issued.serial) if issued is not None else None
        return issued if kit is not None and kit.recalls else None

    def summary(self) -> dict[str, object]:
        """A few figures for lists of jobs; everything else is derived when it is asked for."""
        corrections = sum(len(made) for made in self.corrected.values())
        found: dict[str, object] = {
            "steps": len(self.procedure.steps),
            "credited": len(self.credited),
            "holds": len(self.holds) + (self.undecided is not None),
            "paused": self.paused_by is not None,
            "failed_cycles": self.failed_cycles,
            "corrections": corrections,
            "first_pass": not (corrections or self.failed_cycles),
        }
        if self.moved_by is not None:
            found["procedure"] = self.procedure.digest
        return found

    def copy(self) -> "Bench":
        """An independent bench; entries, outcomes, facts and procedure are shared, they are never changed."""
        return Bench(**{part.name: _copied(getattr(self, part.name)) for part in fields(self)})


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copied(item) for key, item in value.items()}
    if isinstance(value, list | set):
        return value.copy()
    return value
