"""The working state of a fold: what has credit now, what was measured, who did what.

It is mutable and private to the fold; `jobs.domain.job_state.state_of` takes a frozen picture of it.

The effects, in plain sentences:

1. A step done takes away the credit of what it voids, of what that voids in turn, and so on, whether or not
   the entry earns credit itself: the metal does not know who was qualified.
2. Whoever did something is remembered as its doer, with or without credit.
3. A step has credit while it was performed (where it is more than a measurement), every characteristic of it
   passes, and its verification cycles are complete.
4. What loses its credit keeps its entries; each of them gets a finding that names what undid it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from uuid import UUID

from inspections.domain.judging import Judgement, Side, Verdict
from jobs.domain.entry import Entry
from jobs.domain.facts import Facts
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import CORRECT, Procedure, Step

UNDONE = Rule(109, "undone", "What a later act undoes loses its credit.", Response.NO_CREDIT)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an entry has earned so far."""

    credit: bool
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Measured:
    """The reading that governs a characteristic now."""

    entry: UUID
    person: UUID
    at: datetime
    verdict: Verdict
    value: Fraction | None
    side: Side | None
    counts: bool  # the entry had no finding against it
    proper: bool  # it was judged, whatever the verdict, with nothing else against it
    accepted: bool = False  # a conditional verdict that a lead accepted
    instrument: str | None = None
    judgement: Judgement | None = None

    @property
    def counts_against(self) -> bool:
        """Whether it was a proper reading that failed."""
        return self.proper and self.verdict is Verdict.FAIL

    @property
    def passes(self) -> bool:
        return self.counts and (self.verdict is Verdict.PASS or self.accepted)


@dataclass(frozen=True, slots=True)
class Corrected:
    """One correction made on a characteristic."""

    entry: UUID
    correction: str
    person: UUID
    at: datetime


@dataclass(frozen=True, slots=True)
class OpenHold:
    """Something a lead or quality must decide before the gate opens."""

    entry: UUID
    reason: str
    step: str | None
    rule: int | None = None


@dataclass(frozen=True, slots=True)
class Ends:
    """What other parts of the record wait for: verification, condemnation, release, completion."""

    verification: UUID | None
    condemned_by: UUID | None
    concurred_by: UUID | None
    released_by: UUID | None
    credited: int


@dataclass(slots=True)
class Bench:
    """Everything the rules may look at while an entry is judged."""

    procedure: Procedure
    facts: Facts
    credited: dict[str, UUID] = field(default_factory=dict)  # step -> the entry that completed it
    performed: dict[str, Entry] = field(default_factory=dict)  # step -> the entry that did it, with credit
    measured: dict[tuple[str, str], Measured] = field(default_factory=dict)
    corrected: dict[tuple[str, str], list[Corrected]] = field(default_factory=dict)
    supports: dict[str, list[UUID]] = field(default_factory=dict)  # step -> entries its credit rests on
    doers: dict[str, set[UUID]] = field(default_factory=dict)  # scope or "correct" -> persons
    outcomes: dict[UUID, Outcome] = field(default_factory=dict)
    entries: dict[UUID, Entry] = field(default_factory=dict)
    changed: set[UUID] = field(default_factory=set)
    cycles: list[UUID] = field(default_factory=list)  # the run of passed cycles since the last fail or void
    adjustment: UUID | None = None  # the last adjustment, with or without credit
    verification: UUID | None = None  # the cycle that completed the run
    failed_cycles: int = 0
    holds: dict[UUID, OpenHold] = field(default_factory=dict)
    paused_by: UUID | None = None
    offered_to: UUID | None = None
    condemned_by: UUID | None = None
    concurred_by: UUID | None = None
    released_by: UUID | None = None
    last_entry: Entry | None = None

    def step(self, key: str) -> Step | None:
        return self.procedure.by_key.get(key)

    def initials(self, person: UUID) -> str:
        found = self.facts.people.get(person)
        return found.initials if found else "somebody unknown"

    def did(self, scopes: Iterable[str], person: UUID) -> str | None:
        """The first of `scopes` that `person` has done on this job, with or without credit."""
        return next((scope for scope in scopes if person in self.doers.get(scope, ())), None)

    def record(self, entry: Entry, findings: tuple[Finding, ...]) -> bool:
        """Note an entry's outcome; answer whether it earns credit."""
        credit = not any(finding.withholds_credit for finding in findings)
        self.outcomes[entry.id] = Outcome(credit, findings)
        self.entries[entry.id] = entry
        self.changed.add(entry.id)
        self.last_entry = entry
        return credit

    def remember_doer(self, scope: str, person: UUID) -> None:
        self.doers.setdefault(scope, set()).add(person)

    def remember_corrector(self, person: UUID) -> None:
        self.remember_doer(CORRECT, person)

    def undo(self, keys: Iterable[str], by: Entry, because: str) -> None:
        """Take away the credit of `keys` and of all that they void in turn."""
        for key in self.procedure.void_closure(keys):
            self._undo_step(key, by, because)

    def _undo_step(self, key: str, by: Entry, because: str) -> None:
        self.credited.pop(key, None)
        self.performed.pop(key, None)
        for at in [at for at in self.measured if at[0] == key]:
            del self.measured[at]
        step = self.procedure.by_key[key]
        if step.verification is not None:
            self.cycles = []
            self.verification = None
        for entry in self.supports.pop(key, ()):
            if entry != by.id:
                self.withdraw(entry, UNDONE.found(because, f"Do “{step.title}” again."))

    def withdraw(self, entry: UUID, finding: Finding) -> None:
        """An entry that had credit loses it, and says why."""
        outcome = self.outcomes[entry]
        if outcome.credit:
            self.outcomes[entry] = Outcome(False, (*outcome.findings, finding))
            self.changed.add(entry)

    def support(self, step: str, entry: UUID) -> None:
        self.supports.setdefault(step, []).append(entry)

    def settle(self, step: Step, entry: Entry) -> None:
        """Give or take the step's credit, by what stands now."""
        if self.is_complete(step):
            self.credited.setdefault(step.key, entry.id)
        else:
            self.credited.pop(step.key, None)

    def is_complete(self, step: Step) -> bool:
        if step.needs_performing and step.key not in self.performed:
            return False
        performed = self.performed.get(step.key)
        if performed is not None and getattr(performed.body, "not_applicable", False):
            return True
        if step.verification is not None and self.verification is None:
            return False
        return all(self.passes(step.key, spec.key) for spec in step.readings)

    def passes(self, step: str, characteristic: str) -> bool:
        found = self.measured.get((step, characteristic))
        return found is not None and found.passes

    def is_all_credited(self) -> bool:
        return all(step.key in self.credited for step in self.procedure.steps)

    def snapshot_of_ends(self) -> Ends:
        return Ends(
            self.verification, self.condemned_by, self.concurred_by, self.released_by, len(self.credited)
        )

    def summary(self) -> dict[str, object]:
        """A few figures for lists of jobs; everything else is derived when it is asked for."""
        return {
            "steps": len(self.procedure.steps),
            "credited": len(self.credited),
            "holds": len(self.holds),
            "paused": self.paused_by is not None,
            "failed_cycles": self.failed_cycles,
        }

    def copy(self) -> "Bench":
        """An independent bench for a preview; entries, outcomes and procedure are shared, they are never changed."""
        return Bench(
            procedure=self.procedure,
            facts=self.facts,
            credited=dict(self.credited),
            performed=dict(self.performed),
            measured=dict(self.measured),
            corrected={key: list(value) for key, value in self.corrected.items()},
            supports={key: list(value) for key, value in self.supports.items()},
            doers={key: set(value) for key, value in self.doers.items()},
            outcomes=dict(self.outcomes),
            entries=dict(self.entries),
            changed=set(self.changed),
            cycles=list(self.cycles),
            adjustment=self.adjustment,
            verification=self.verification,
            failed_cycles=self.failed_cycles,
            holds=dict(self.holds),
            paused_by=self.paused_by,
            offered_to=self.offered_to,
            condemned_by=self.condemned_by,
            concurred_by=self.concurred_by,
            released_by=self.released_by,
            last_entry=self.last_entry,
        )
