"""A procedure revision as the engine reads it: frozen, validated, no behaviour beyond look-ups.

`jobs.domain.procedure_document` builds these from a published document; nothing else does.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from fractions import Fraction
from functools import cached_property

from inspections.domain.characteristic import Characteristic
from shops.domain.qualification import Scope as Scope  # noqa: PLC0414 # procedures speak of scopes

CORRECT = "correct"
"""In `not_by`, beside the scopes: whoever logged any correction on the job."""


class Outcome(StrEnum):
    """What a reading inside a band leads to."""

    PASS = "pass"  # noqa: S105 # no password, a verdict
    CORRECT = "correct"
    REWORK = "rework"
    CONDEMN = "condemn"


class Direction(StrEnum):
    """What a correction does to its characteristic."""

    INCREASES = "increases"
    DECREASES = "decreases"


@dataclass(frozen=True, slots=True)
class Band:
    """A part of the number line and what a reading there leads to.

    Bounds are exact, in the characteristic's unit; `None` is open-ended.
    """

    lower: Fraction | None
    lower_inclusive: bool
    upper: Fraction | None
    upper_inclusive: bool
    then: Outcome
    correction: str | None = None  # a correction's key, with Outcome.CORRECT
    rework: str | None = None  # the step to do again, with Outcome.REWORK


@dataclass(frozen=True, slots=True)
class Correction:
    """A way back inside the limits that the procedure names: what, where, which way, how often."""

    key: str
    title: str
    instruction: str
    cautions: tuple[str, ...]
    face: str  # the named face that is worked; never the casting
    direction: Direction
    qualification: Scope
    voids: tuple[str, ...]  # steps whose credit it takes away, besides the reading's own step
    attempts: int  # how many corrections of the characteristic in all, before lead and quality decide
    requires: tuple[str, ...] = ()  # "permit", "fire_watch", "crack_check", "cool_down"
    cool_down: timedelta | None = None


@dataclass(frozen=True, slots=True)
class ReadingSpec:
    """One characteristic that a step measures, with its bands and the corrections they name."""

    characteristic: Characteristic  # how it is measured and judged (see inspections.domain)
    bands: tuple[Band, ...]
    corrections: tuple[Correction, ...] = ()
    state: str | None = None  # the state in which to measure; an entry must claim the same words
    max_plate_air_difference: Fraction | None = None  # degrees Fahrenheit

    @property
    def key(self) -> str:
        return self.characteristic.key


@dataclass(frozen=True, slots=True)
class Fastener:
    """Fasteners that a step tightens, all alike."""

    key: str
    title: str
    count: int
    thread: str  # "3/4-10", "M20x2.5"
    grade: str | None
    lubrication: str  # "dry", "oiled", "anti-seize"
    torque: str  # quantity as typed: "150 lbf.ft"
    instrument: str = "torque_wrench"
    sequence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Consumable:
    """A consumable that a step uses: an allow-list, no substitutes."""

    key: str
    allowed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Verification:
    """What one verification cycle observes and how many in a row must pass."""

    cycles: int
    observations: tuple[str, ...]
    instrument: str  # kind, "test_kingpin"


@dataclass(frozen=True, slots=True)
class AdjustmentSpec:
    """How the lock is adjusted: by screw (turns back from contact) or by shims."""

    method: str  # "screw" or "shims"
    thread: str | None = None
    taper: str | None = None  # "1:10"
    turns_back: Fraction | None = None
    shims: tuple[Fraction, ...] = ()  # thicknesses in stock, inches
    most_shims: int | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what to do, what must be credited first, what it undoes, and who may do it."""

    key: str
    title: str
    instruction: str
    scope: Scope
    cautions: tuple[str, ...] = ()
    after: tuple[str, ...] = ()  # steps that must have credit first
    voids: tuple[str, ...] = ()  # steps that lose their credit when this one is done
    walled_in_by: tuple[str, ...] = ()  # steps after whose credit this one cannot be done any more
    not_by: tuple[str, ...] = ()  # scopes (or "correct") whose doers on this job may not do it
    readings: tuple[ReadingSpec, ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    consumables: tuple[Consumable, ...] = ()
    kit_lines: tuple[str, ...] = ()
    issues_kit: bool = False  # the kit is scanned here, all lines of it
    photos: int = 0
    verification: Verification | None = None
    adjustment: AdjustmentSpec | None = None
    may_be_not_applicable: bool = False
    optional: bool = False  # done when it is called for; release does not rest on it
    minimum_duration: timedelta | None = None
    cool_down: timedelta | None = None
    condemn_here: bool = False  # the job may be condemned at this step without a reading that says so

    @property
    def is_adjustment(self) -> bool:
        return self.scope is Scope.ADJUST

    @property
    def is_verification(self) -> bool:
        return self.verification is not None

    @property
    def is_release(self) -> bool:
        return self.scope is Scope.RELEASE

    @property
    def needs_performing(self) -> bool:
        """Whether a step entry must say that it was done; a pure measurement or verification speaks for itself."""
        if self.verification is not None:
            return False
        worked = self.fasteners or self.consumables or self.kit_lines or self.adjustment
        return self.scope is not Scope.MEASURE or not self.readings or bool(worked)

    def reading(self, characteristic: str) -> ReadingSpec | None:
        return next((r for r in self.readings if r.key == characteristic), None)


@dataclass(frozen=True, slots=True)
class FollowUp:
    """The short job after release: until it is done, availability is limited."""

    after_distance: str | None  # "400 mi"
    after_days: int | None
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Procedure:
    """A published revision. `digest` is the SHA-256 (hex) of its canonical JSON."""

    code: str
    revision: int
    title: str
    coupling: str  # the coupling model it is for
    digest: str
    in_force_from: datetime
    safety_critical: bool
    steps: tuple[Step, ...]
    follow_up: FollowUp | None = None
    inspection_distance: str | None = None  # "25000 mi"
    inspection_days: int | None = None
    kit_lines: tuple[str, ...] = ()
    cautions: tuple[str, ...] = field(default=())
    weld_lapses_after_months: int | None = None  # a weld qualification not used for so long counts no more

    @cached_property
    def by_key(self) -> dict[str, Step]:
        return {step.key: step for step in self.steps}

    @cached_property
    def verifications(self) -> tuple[str, ...]:
        """The keys of the steps that are made of verification cycles."""
        return tuple(step.key for step in self.steps if step.verification is not None)

    def followers(self, keys: Iterable[str]) -> tuple[str, ...]:
        """The steps that come after any of `keys`, directly or through others; the release is none of them."""
        found = set(keys)
        before = len(found)
        while True:
            found |= {step.key for step in self.steps if not found.isdisjoint(step.after)}
            if len(found) == before:
                break
            before = len(found)
        given = set(keys)
        return tuple(s.key for s in self.steps if s.key in found and s.key not in given and not s.is_release)

    @cached_property
    def required(self) -> frozenset[str]:
        """The keys that release rests on, directly or through others, without release itself."""
        found: set[str] = set()
        waiting = list(self.release_step.after) if self.release_step else []
        while waiting:
            key = waiting.pop()
            if key not in found and key in self.by_key:
                found.add(key)
                waiting.extend(self.by_key[key].after)
        return frozenset(found)

    @cached_property
    def release_step(self) -> Step | None:
        return next((step for step in self.steps if step.is_release), None)

    @cached_property
    def _void_closures(self) -> dict[str, tuple[str, ...]]:
        return {key: _closure(key, self.by_key) for key in self.by_key}

    def void_closure(self, keys: Iterable[str]) -> tuple[str, ...]:
        """`keys` and every step that loses its credit with them, transitively, each once."""
        found: dict[str, None] = {}
        for key in keys:
            found.update(dict.fromkeys(self._void_closures.get(key, ())))
        return tuple(found)


def _closure(key: str, steps: dict[str, Step]) -> tuple[str, ...]:
    found: dict[str, None] = {}
    waiting = [key]
    while waiting:
        at = waiting.pop()
        if at in steps and at not in found:
            found[at] = None
            waiting.extend(steps[at].voids)
    return tuple(found)
