"""What past work is judged by, as it is known now: people, keys, instruments, kits, revisions.

Facts are append-only where they come from, so the same facts version always gives the same judgement.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
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
class KitMove:
    """Where a kit went: stocked, issued (to a job, or to nobody knows what), returned, quarantined, scrapped."""

    kind: str
    at: datetime
    job: UUID | None = None


@dataclass(frozen=True, slots=True)
class RecallFact:
    """A published recall that named the kit."""

    id: UUID
    published_at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class KitFacts:
    """A kit as received, and what has become of it. `moves` in the order of time."""

    serial: str
    lot: str
    coupling: str
    lines: frozenset[str]
    moves: tuple[KitMove, ...] = ()
    recalls: tuple[RecallFact, ...] = ()

    def last_move(self, at: datetime) -> KitMove | None:
        """Where the kit had gone by `at`."""
        return next((move for move in reversed(self.moves) if move.at <= at), None)

    def recalled_by(self, at: datetime) -> RecallFact | None:
        """The first recall of the kit that was published by `at`."""
        return next((recall for recall in self.recalls if recall.published_at <= at), None)

    def follows(self, before: "KitFacts", own: KitMove) -> bool:
        """Whether all that is new since `before` is `own`, the movement that the job's entry made."""
        at = self.moves.index(own) if own in self.moves else len(self.moves)
        return replace(self, moves=self.moves[:at] + self.moves[at + 1 :]) == before


@dataclass(frozen=True, slots=True)
class LegalHold:
    """A unit is kept as evidence. `incident_at` is when what happened happened, as far as it was said."""

    held_at: datetime
    cleared_at: datetime | None = None
    incident_at: datetime | None = None

    @property
    def since(self) -> datetime:
        return self.held_at if self.incident_at is None else min(self.incident_at, self.held_at)


@dataclass(frozen=True, slots=True)
class ForkFact:
    """The twin of an entry: another one on another job that the same phone signed under the same number."""

    entry: UUID
    job: UUID
    since: datetime  # when the second of the two came in


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything outside the job's own entries that the fold may look at."""

    people: Mapping[UUID, Person] = field(default_factory=dict)
    keys: Mapping[str, Key] = field(default_factory=dict)
    instruments: Mapping[str, InstrumentFacts] = field(default_factory=dict)
    kits: Mapping[str, KitFacts] = field(default_factory=dict)
    procedures: Mapping[str, Procedure] = field(default_factory=dict)  # by digest; a job may be moved to one of them
    revisions: Mapping[str, tuple[RevisionFact, ...]] = field(default_factory=dict)  # by code, in order of revision
    legal_holds: Mapping[UUID, tuple[LegalHold, ...]] = field(default_factory=dict)  # by job
    forks: Mapping[UUID, tuple[ForkFact, ...]] = field(default_factory=dict)  # by entry
    version: int = 0

    def judges_as(self, before: "Facts", job: UUID, kits: Mapping[str, datetime | None]) -> bool:
        """Whether nothing has changed since `before` that the fold of `job` can look at.

        `kits`: those that its entries name, by serial, each with the time at which the one entry that issued it did so
        with credit; None where none did, or several speak of it. That it moved into the job then says what that entry
        has said: no other entry is judged by where the kit was.
        """
        parts = (part.name for part in fields(self) if part.name not in _LOOKED_UP)
        pairs = ((getattr(self, name), getattr(before, name)) for name in parts)
        return (
            all(mine is its or mine == its for mine, its in pairs)
            and self.legal_holds.get(job) == before.legal_holds.get(job)
            and all(
                _is_same(before.kits.get(serial), self.kits.get(serial), job, issued) for serial, issued in kits.items()
            )
        )


_LOOKED_UP = frozenset({"kits", "legal_holds", "procedures", "version"})
"""Not compared as a whole: a job looks up what is its own, and a digest always means the same procedure."""


def _is_same(before: KitFacts | None, now: KitFacts | None, job: UUID, issued: datetime | None) -> bool:
    if before == now:
        return True
    return bool(before and now and issued and now.follows(before, KitMove("issued", issued, job)))
