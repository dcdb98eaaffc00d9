"""What past work is judged by, as it is known now: people, keys, instruments, kits, revisions.

Facts are append-only where they come from, so the same facts version always gives the same judgement.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from inspections.domain.instruments import InstrumentFacts
from jobs.domain.procedure import Procedure


@dataclass(frozen=True, slots=True)
class Qualification:
    """Scopes held from `valid_from` until `valid_to`, or until it was withdrawn."""

    scopes: frozenset[str]
    valid_from: datetime
    valid_to: datetime | None
    withdrawn_from: datetime | None = None

    def holds(self, scope: str, at: datetime) -> bool:
        return (
            scope in self.scopes
            and self.valid_from <= at
            and (self.valid_to is None or at < self.valid_to)
            and (self.withdrawn_from is None or at < self.withdrawn_from)
        )


@dataclass(frozen=True, slots=True)
class Person:
    id: UUID
    initials: str
    qualifications: tuple[Qualification, ...] = ()
    hot_work: tuple[datetime, ...] = ()  # corrections under a permit, with credit, on whatever job; in order

    def is_qualified(self, scope: str, at: datetime) -> bool:
        return any(qualification.holds(scope, at) for qualification in self.qualifications)

    def last_use(self, scope: str, at: datetime) -> datetime | None:
        """When `scope` was last shown by `at`: a grant begins with a test, and hot work counts for `weld`."""
        shown = [held.valid_from for held in self.qualifications if scope in held.scopes and held.valid_from <= at]
        if scope == "weld":
            shown += [used for used in self.hot_work if used <= at]
        return max(shown, default=None)


@dataclass(frozen=True, slots=True)
class Key:
    """A device key: valid from its enrolment until it was revoked."""

    thumbprint: str
    technician: UUID
    enrolled_at: datetime
    revoked_from: datetime | None = None
    reason: str | None = None
    device: str | None = None  # the name that the phone was enrolled under


@dataclass(frozen=True, slots=True)
class RevisionFact:
    """A published revision, in force from when it says, but not before it was published."""

    code: str
    revision: int
    digest: str
    in_force_from: datetime
    safety_critical: bool


@dataclass(frozen=True, slots=True)
class KitFacts:
    """A kit as received, and what has become of it."""

    serial: str
    lot: str
    coupling: str
    lines: frozenset[str]
    last_movement: str | None = None
    issued_to: UUID | None = None


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything outside the job's own entries that the fold may look at."""

    people: Mapping[UUID, Person] = field(default_factory=dict)
    keys: Mapping[str, Key] = field(default_factory=dict)
    instruments: Mapping[str, InstrumentFacts] = field(default_factory=dict)
    kits: Mapping[str, KitFacts] = field(default_factory=dict)
    procedures: Mapping[str, Procedure] = field(default_factory=dict)  # by digest; a job may be moved to one of them
    revisions: Mapping[str, tuple[RevisionFact, ...]] = field(default_factory=dict)  # by code, in order of revision
    version: int = 0
