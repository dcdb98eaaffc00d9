"""What the bench remembers, as frozen values: outcomes, work done, readings, corrections, holds."""

from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from uuid import UUID

from inspections.domain.judging import Judgement, Side, Verdict
from jobs.domain.finding import Finding

CONDITIONAL, BEYOND_CURE, DOUBTED = 303, 312, 320  # the rules by which a reading holds the job
FORKED, FORKED_ACROSS = 703, 707  # by which a phone does
_GRAVITY = {CONDITIONAL: 1, DOUBTED: 2, BEYOND_CURE: 3, FORKED_ACROSS: 4, FORKED: 5}
_OUTLAST = frozenset({BEYOND_CURE, FORKED_ACROSS, FORKED})


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an entry has earned so far."""

    credit: bool
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Done:
    """A step that was done with credit."""

    entry: UUID
    person: UUID
    at: datetime
    not_applicable: bool = False


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a reading is not believed any more, and since when: its gauge was found bad then."""

    reason: str
    since: datetime


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
    doubt: Doubt | None = None

    @property
    def counts_against(self) -> bool:
        """Whether it was a proper reading that failed."""
        return self.proper and self.verdict is Verdict.FAIL

    @property
    def passes(self) -> bool:
        return self.counts and (self.verdict is Verdict.PASS or self.accepted)

    @property
    def waits(self) -> bool:
        """Whether it is conditional and nobody has accepted it."""
        return self.verdict is Verdict.CONDITIONAL and not self.accepted

    @property
    def holds(self) -> bool:
        """Whether it is the reason of a hold: it waits, or is doubted."""
        return self.waits or self.doubt is not None


@dataclass(frozen=True, slots=True)
class Corrected:
    """One correction made on a characteristic with credit; `side` is where the reading was out that asked for it."""

    entry: UUID
    correction: str
    person: UUID
    at: datetime
    side: Side | None = None


@dataclass(frozen=True, slots=True)
class OpenHold:
    """Something that must be decided before the gate opens: by one person who may release, or by two."""

    entry: UUID
    reason: str
    step: str | None
    rule: int | None = None  # None for a hold that somebody set by hand
    needs: int = 1
    cleared_by: tuple[UUID, ...] = ()
    since: datetime | None = None  # for what came up after the act: a release signed before does not fall by it

    @property
    def outlasts_readings(self) -> bool:
        """Whether a better reading does not end it: something was found beyond cure, or the phone is in doubt."""
        return self.rule in _OUTLAST

    def joined(self, other: "OpenHold") -> "OpenHold":
        """Both holds of one entry in one: who clears it decides about both, so it takes the more people of the two."""
        if self.rule == other.rule and other.reason in self.reason:
            return self
        graver, milder = sorted((self, other), key=lambda hold: _GRAVITY.get(hold.rule or 0, 0), reverse=True)
        since = None if graver.since is None or milder.since is None else min(graver.since, milder.since)
        reason = f"{graver.reason} {milder.reason}"
        return replace(graver, reason=reason, needs=max(graver.needs, milder.needs), since=since)

    @property
    def cure(self) -> str:
        """Who clears it, in words."""
        if self.needs == 1:
            return "A lead clears it with a reason."
        done = f"{len(self.cleared_by)} of {self.needs} have"
        return f"Lead and quality, two people who may release, clear it with a reason; {done}."


@dataclass(frozen=True, slots=True)
class KitIssued:
    """A kit that was issued to the job with credit."""

    entry: UUID
    serial: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Ends:
    """What other parts of the record wait for: verification, condemnation, release, completion."""

    verification: UUID | None
    condemned_by: UUID | None
    concurred_by: UUID | None
    released_by: UUID | None
    undermining: frozenset[UUID]
    credited: int
    kits: tuple[UUID, ...] = ()  # the entries that issued a kit
    failed_readings: frozenset[UUID] = frozenset()  # those that nothing has answered
    followed_up: bool = False  # every step has credit and its photos are named, and nothing holds the job
    doubted: frozenset[UUID] = frozenset()  # what governs though its gauge, or the kit, proved bad since
    forked: frozenset[UUID] = frozenset()  # entries whose number the phone signed on another job too
