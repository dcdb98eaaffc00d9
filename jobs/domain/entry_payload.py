"""Reads a signed payload into a `SignedEntry`, and says everything that is wrong with it at once.

Rules, in plain sentences:

- The common members are `entry`, `job`, `kind`, `performed_at`, `device_seq`, `device_previous`, `procedure`;
  `note`, `evidence` and `seen_checkpoint` may follow. The rest belongs to the kind; nothing else is accepted.
- A time carries its offset. A digest is lower-case hex of a SHA-256. An id is a UUID; `entry` is a UUIDv7.
- What is not an entry at all is refused here; whether an entry counts is the fold's business, not ours.
"""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from inspections.domain.typed_reading import TypedReading, TypedReadingError, TypedValue, read_typed
from jobs.domain.entry import (
    AdjustmentWork,
    AmendmentBody,
    ClearBody,
    CondemnBody,
    ConsumableUse,
    CorrectionBody,
    CycleBody,
    EntryKind,
    FastenerWork,
    HandOverBody,
    HoldBody,
    KitIssue,
    MoveBody,
    PauseBody,
    ReadingBody,
    ReleaseBody,
    ResumeBody,
    SignedEntry,
    StepBody,
)
from jobs.domain.payload_fields import Fields, PayloadError, Problem
from jobs.domain.seen_checkpoint import read_seen_checkpoint
from jobs.domain.uuid7 import Uuid7Error, read_uuid7

COMMON = frozenset(
    {
        "entry",
        "job",
        "kind",
        "performed_at",
        "device_seq",
        "device_previous",
        "procedure",
        "note",
        "evidence",
        "seen_checkpoint",
    }
)
_KINDS = {kind.value: kind for kind in EntryKind}


def read_entry(payload: Mapping[str, object]) -> SignedEntry:
    """The entry that `payload` says; raises PayloadError with every problem found."""
    fields = Fields(payload)
    kind = _KINDS.get(str(payload.get("kind")))
    if kind is None:
        raise PayloadError([Problem("/kind", "unknown kind of entry", f"Send one of: {', '.join(_KINDS)}.")])
    body = _BODIES[kind](fields)
    entry = SignedEntry(
        id=_entry_id(fields),
        job=fields.uuid("job"),
        kind=kind,
        performed_at=fields.time("performed_at"),
        device_seq=fields.whole("device_seq", least=1),
        device_previous=fields.optional_digest("device_previous"),
        procedure=fields.digest("procedure"),
        body=body,
        note=fields.optional_text("note"),
        evidence=fields.digests("evidence"),
        seen_checkpoint=read_seen_checkpoint(fields),
    )
    fields.refuse_unknown(COMMON)
    fields.raise_problems()
    return entry


def _entry_id(fields: Fields) -> UUID:
    try:
        return read_uuid7(fields.take("entry"))
    except Uuid7Error as error:
        fields.problem("/entry", error.message, error.cure)
        return UUID(int=0)


def _step(fields: Fields) -> StepBody:
    return _step_body(fields, reason=fields.optional_text("reason"))


def _rework(fields: Fields) -> StepBody:
    return _step_body(fields, reason=fields.text("reason"))


def _step_body(fields: Fields, reason: str | None) -> StepBody:
    body = StepBody(step=fields.text("step"), reason=reason)
    if not fields.beyond(COMMON, "step", "reason"):
        return body
    return StepBody(
        step=body.step,
        reason=reason,
        not_applicable=fields.flag("not_applicable"),
        started_at=fields.optional_time("started_at"),
        readings=_readings(fields, required=False),
        consumables=fields.texts_by_name("consumables"),
        consumable_use=tuple(_consumable_use(item) for item in fields.objects("consumable_use")),
        kit=_kit(fields),
        fasteners=tuple(_fastener(item) for item in fields.objects("fasteners")),
        adjustment=_adjustment(fields),
        counts=fields.wholes_by_name("counts"),
        odometer=_typed_value(fields, "odometer"),
    )


def _kit(fields: Fields) -> KitIssue | None:
    kit = fields.optional_object("kit")
    if kit is None:
        return None
    issue = KitIssue(serial=kit.text("serial"), lines=kit.texts("lines"), left_over=kit.texts("left_over"))
    kit.refuse_unknown()
    return issue


def _consumable_use(item: Fields) -> ConsumableUse:
    use = ConsumableUse(
        key=item.text("key"),
        lot=item.optional_text("lot"),
        use_by=item.optional_date("use_by"),
        on_threads=item.flag("on_threads"),
    )
    item.refuse_unknown()
    return use


def _fastener(item: Fields) -> FastenerWork:
    work = FastenerWork(
        key=item.text("key"),
        count=item.whole("count", least=0),
        torque=_typed_value(item, "torque"),
        instrument=item.optional_text("instrument"),
        lubrication=item.optional_text("lubrication"),
        order=item.texts("order"),
        unmoved=item.optional_whole("unmoved"),
    )
    item.refuse_unknown()
    return work


def _adjustment(fields: Fields) -> AdjustmentWork | None:
    item = fields.optional_object("adjustment")
    if item is None:
        return None
    shims = tuple(TypedValue(shim.text("text"), shim.text("unit")) for shim in item.objects("shims"))
    work = AdjustmentWork(turns_back=_typed_value(item, "turns_back"), shims=shims, cause=item.optional_text("cause"))
    item.refuse_unknown()
    return work


def _typed_value(fields: Fields, name: str) -> TypedValue | None:
    item = fields.optional_object(name)
    if item is None:
        return None
    value = TypedValue(item.text("text"), item.text("unit", empty=True))
    item.refuse_unknown()
    return value


def _readings(fields: Fields, *, required: bool) -> tuple[TypedReading, ...]:
    raw = fields.take("readings")
    if raw is None and not required:
        return ()
    if not isinstance(raw, list) or not 1 <= len(raw) <= 50:  # noqa: PLR2004
        fields.problem("/readings", "must be a list of 1 to 50 readings", "Send what was read, one object each.")
        return ()
    return tuple(found for at, item in enumerate(raw) if (found := _reading(fields, at, item)) is not None)


def _reading(fields: Fields, at: int, item: Any) -> TypedReading | None:
    if not isinstance(item, dict):
        fields.problem(f"/readings/{at}", "must be an object", "Send characteristic, values and instrument.")
        return None
    try:
        return read_typed(item)
    except TypedReadingError as error:
        fields.problem(f"/readings/{at}{error.pointer}", error.message, "Correct the reading's shape.")
        return None


def _reading_body(fields: Fields) -> ReadingBody:
    return ReadingBody(fields.text("step"), _readings(fields, required=True), fields.optional_text("reason"))


def _correction(fields: Fields) -> CorrectionBody:
    return CorrectionBody(
        step=fields.text("step"),
        characteristic=fields.text("characteristic"),
        correction=fields.text("correction"),
        face=fields.text("face"),
        permit=fields.optional_text("permit"),
        permit_from=fields.optional_time("permit_from"),
        permit_to=fields.optional_time("permit_to"),
        fire_watch_until=fields.optional_time("fire_watch_until"),
        crack_check=fields.optional_flag("crack_check"),
        cooled=fields.optional_flag("cooled"),
        past_flush=fields.flag("past_flush"),
    )


def _cycle(fields: Fields) -> CycleBody:
    return CycleBody(
        step=fields.text("step"),
        cycle=fields.whole("cycle", least=1),
        observations=fields.flags_by_name("observations"),
        instrument=fields.optional_text("instrument"),
        readings=_readings(fields, required=False),
    )


def _hold(fields: Fields) -> HoldBody:
    return HoldBody(fields.text("reason"), fields.optional_text("step"))


def _clear(fields: Fields) -> ClearBody:
    return ClearBody(fields.uuid("hold"), fields.text("reason"))


def _pause(fields: Fields) -> PauseBody:
    return PauseBody(fields.text("state_note"))


def _resume(fields: Fields) -> ResumeBody:
    return ResumeBody(fields.flag("state_read"))


def _hand_over(fields: Fields) -> HandOverBody:
    return HandOverBody(fields.text("state_note"), fields.optional_uuid("to"), fields.optional_uuid("accepts"))


def _move(fields: Fields) -> MoveBody:
    return MoveBody(fields.digest("revision"), fields.text("reason"))


def _condemn(fields: Fields) -> CondemnBody:
    return CondemnBody(fields.text("reason"), fields.optional_text("step"), fields.optional_uuid("concurs_with"))


def _release(fields: Fields) -> ReleaseBody:
    return ReleaseBody(fields.digest("chain_head"), fields.text("statement"))


def _amendment(fields: Fields) -> AmendmentBody:
    content = fields.object("content")
    kind = _KINDS.get(content.text("kind"))
    if kind is None or kind not in AMENDABLE:
        allowed = ", ".join(sorted(AMENDABLE))
        fields.problem("/content/kind", "cannot be amended", f"Amend one of: {allowed}.")
        kind, body = EntryKind.HOLD, HoldBody("")
    else:
        body = _BODIES[kind](content)
    content.refuse_unknown(frozenset({"kind"}))
    return AmendmentBody(fields.uuid("amends"), fields.text("reason"), kind, body)


AMENDABLE = frozenset(
    {EntryKind.STEP, EntryKind.READING, EntryKind.CORRECTION, EntryKind.REWORK, EntryKind.VERIFICATION_CYCLE}
)
_BODIES: dict[EntryKind, Any] = {
    EntryKind.STEP: _step,
    EntryKind.READING: _reading_body,
    EntryKind.CORRECTION: _correction,
    EntryKind.REWORK: _rework,
    EntryKind.VERIFICATION_CYCLE: _cycle,
    EntryKind.HOLD: _hold,
    EntryKind.CLEAR: _clear,
    EntryKind.PAUSE: _pause,
    EntryKind.RESUME: _resume,
    EntryKind.HAND_OVER: _hand_over,
    EntryKind.MOVE: _move,
    EntryKind.AMENDMENT: _amendment,
    EntryKind.CONDEMN: _condemn,
    EntryKind.RELEASE: _release,
}
