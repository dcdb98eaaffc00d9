"""An entry as the engine reads it: who, when, on which device, and what was done, as frozen values.

`jobs.domain.entry_payload.read_entry` builds them from a signed payload.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from uuid import UUID

from inspections.domain.typed_reading import TypedReading, TypedValue
from jobs.domain.seen_checkpoint import SeenCheckpoint


class EntryKind(StrEnum):
    STEP = "step"
    READING = "reading"
    CORRECTION = "correction"
    REWORK = "rework"
    VERIFICATION_CYCLE = "verification_cycle"
    HOLD = "hold"
    CLEAR = "clear"
    PAUSE = "pause"
    RESUME = "resume"
    HAND_OVER = "hand_over"
    MOVE = "move"  # the job goes on under another revision
    AMENDMENT = "amendment"
    CONDEMN = "condemn"
    RELEASE = "release"


@dataclass(frozen=True, slots=True)
class FastenerWork:
    """What was done to one of the step's fasteners."""

    key: str
    count: int
    torque: TypedValue | None = None
    instrument: str | None = None
    lubrication: str | None = None
    order: tuple[str, ...] = ()
    unmoved: int | None = None


@dataclass(frozen=True, slots=True)
class AdjustmentWork:
    """How the lock was adjusted: turns back from contact, or the shims that went in."""

    turns_back: TypedValue | None = None
    shims: tuple[TypedValue, ...] = ()
    cause: str | None = None


@dataclass(frozen=True, slots=True)
class ConsumableUse:
    """What more is said of a consumable that was used: its lot, its last day, and whether it came on a thread."""

    key: str
    lot: str | None = None
    use_by: date | None = None
    on_threads: bool = False


@dataclass(frozen=True, slots=True)
class KitIssue:
    """The kit, with the lines of it that are meant (found in it, or fitted) and those left over."""

    serial: str
    lines: tuple[str, ...] = ()
    left_over: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StepBody:
    """A step done, or done again for a `reason` (rework)."""

    step: str
    reason: str | None = None
    not_applicable: bool = False
    started_at: datetime | None = None
    readings: tuple[TypedReading, ...] = ()
    consumables: Mapping[str, str] | None = None
    consumable_use: tuple[ConsumableUse, ...] = ()
    kit: KitIssue | None = None
    fasteners: tuple[FastenerWork, ...] = ()
    adjustment: AdjustmentWork | None = None
    counts: Mapping[str, int] | None = None
    odometer: TypedValue | None = None  # of the unit, where the step reads it

    @property
    def loosens(self) -> bool:
        """Whether it says that fasteners were loosened: none of them is tight now."""
        return bool(self.fasteners) and all(work.count == 0 for work in self.fasteners)

    @property
    def only_loosens(self) -> bool:
        """Whether it says nothing else: loosening waits for nothing, what is read or done beside it does."""
        return self.loosens and not (self.readings or self.kit or self.adjustment)


@dataclass(frozen=True, slots=True)
class ReadingBody:
    """What was read at a step; `reason` when a failed reading is taken again without a correction."""

    step: str
    readings: tuple[TypedReading, ...]
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class CorrectionBody:
    """A correction that the procedure names, on the face that it names."""

    step: str
    characteristic: str
    correction: str
    face: str
    permit: str | None = None
    fire_watch_until: datetime | None = None
    permit_from: datetime | None = None
    permit_to: datetime | None = None
    crack_check: bool | None = None
    cooled: bool | None = None
    past_flush: bool = False  # the face was ground beyond what it was built for


@dataclass(frozen=True, slots=True)
class CycleBody:
    """One verification cycle: each observation on its own, never one OK."""

    step: str
    cycle: int
    observations: Mapping[str, bool]
    instrument: str | None
    readings: tuple[TypedReading, ...] = ()


@dataclass(frozen=True, slots=True)
class HoldBody:
    reason: str
    step: str | None = None


@dataclass(frozen=True, slots=True)
class ClearBody:
    """Clears the hold that an entry set (or that a finding of it asks for)."""

    hold: UUID
    reason: str


@dataclass(frozen=True, slots=True)
class PauseBody:
    state_note: str


@dataclass(frozen=True, slots=True)
class ResumeBody:
    state_read: bool = True


@dataclass(frozen=True, slots=True)
class HandOverBody:
    """Offers the job to another technician, or accepts what was offered."""

    state_note: str
    to: UUID | None = None
    accepts: UUID | None = None


@dataclass(frozen=True, slots=True)
class MoveBody:
    """The job goes on under the revision with this digest, or is kept on its own."""

    revision: str
    reason: str


@dataclass(frozen=True, slots=True)
class AmendmentBody:
    """Says what an earlier entry should have said; both stay. `body` is of the amended entry's kind."""

    amends: UUID
    reason: str
    kind: EntryKind
    body: "Body"


@dataclass(frozen=True, slots=True)
class CondemnBody:
    """Condemns the casting; a second person concurs by naming the first one's entry."""

    reason: str
    step: str | None = None
    concurs_with: UUID | None = None


@dataclass(frozen=True, slots=True)
class ReleaseBody:
    """Releases over the chain head that the signer saw (hex)."""

    chain_head: str
    statement: str


Body = (
    StepBody
    | ReadingBody
    | CorrectionBody
    | CycleBody
    | HoldBody
    | ClearBody
    | PauseBody
    | ResumeBody
    | HandOverBody
    | MoveBody
    | AmendmentBody
    | CondemnBody
    | ReleaseBody
)


@dataclass(frozen=True, slots=True)
class SignedEntry:
    """What the signed payload says, before the server has given it a place."""

    id: UUID
    job: UUID
    kind: EntryKind
    performed_at: datetime
    device_seq: int
    device_previous: str | None
    procedure: str
    body: Body
    note: str | None = None
    evidence: tuple[str, ...] = ()
    seen_checkpoint: SeenCheckpoint | None = None

    @property
    def step(self) -> str | None:
        return getattr(self.body, "step", None)


@dataclass(frozen=True, slots=True)
class Entry:
    """A signed entry with its signer and its receipt: the unit that the fold works on."""

    signed: SignedEntry
    key: str  # thumbprint of the device key
    technician: UUID  # the person, over all devices
    received_at: datetime
    skew_ms: int = 0
    digest: str | None = None  # SHA-256 of the token (hex): what the device's next entry names as its previous

    @property
    def id(self) -> UUID:
        return self.signed.id

    @property
    def kind(self) -> EntryKind:
        return self.signed.kind

    @property
    def body(self) -> Body:
        return self.signed.body

    @property
    def performed_at(self) -> datetime:
        return self.signed.performed_at
