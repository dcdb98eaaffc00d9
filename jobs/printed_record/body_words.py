"""What an entry says, in words, item by item: for amendments, exceptions and whatever has no table of its own."""

from collections.abc import Callable, Iterator
from typing import Any, Final

from inspections.domain.typed_reading import TypedReading
from jobs.domain.entry import (
    AdjustmentWork,
    AmendmentBody,
    Body,
    ClearBody,
    CondemnBody,
    ConsumableUse,
    CorrectionBody,
    CycleBody,
    FastenerWork,
    HandOverBody,
    HoldBody,
    KitIssue,
    MoveBody,
    PauseBody,
    ReadingBody,
    ReleaseBody,
    ResumeBody,
    StepBody,
)
from jobs.printed_record.voice import Voice, typed


def body_words(body: Body, voice: Voice) -> list[str]:
    return [text for text in _WORDS[type(body)](body, voice) if text]


def reading_words(reading: TypedReading) -> str:
    """A reading as typed; tables by their size, they are printed as maps."""
    parts = [typed(value) or "" for value in reading.values]
    if reading.grid is not None:
        parts.append(f"{len(reading.grid.x)} × {len(reading.grid.y)} heights ({reading.grid.unit or 'no unit'})")
    if reading.bore is not None:
        parts.append(
            f"{len(reading.bore.angles)} angles × {len(reading.bore.depths)} depths ({reading.bore.unit or 'no unit'})"
        )
    return ", ".join(parts) or "nothing typed"


def fastener_words(work: FastenerWork) -> str:
    if work.count == 0:
        return f"{work.key}: loosened"
    parts = [f"{work.key}: {work.count}", typed(work.torque), work.lubrication, work.instrument]
    if work.unmoved is not None:
        parts.append(f"{work.unmoved} did not move")
    if work.order:
        parts.append(f"in the order {' '.join(work.order)}")
    return ", ".join(part for part in parts if part)


def adjustment_words(work: AdjustmentWork) -> str:
    parts = []
    if work.turns_back is not None:
        parts.append(f"turned back {typed(work.turns_back)}")
    if work.shims:
        parts.append(f"shims {', '.join(typed(shim) or '' for shim in work.shims)}")
    if work.cause:
        parts.append(f"cause: {work.cause}")
    return "; ".join(parts)


def consumable_words(name: str, product: str | None, use: ConsumableUse | None) -> str:
    parts = [f"{name}: {product}" if product else name]
    if use is not None:
        parts += [f"lot {use.lot}" if use.lot else "", f"use by {use.use_by}" if use.use_by else ""]
        parts.append("on the threads" if use.on_threads else "")
    return ", ".join(part for part in parts if part)


def kit_words(kit: KitIssue) -> str:
    parts = [f"kit {kit.serial}"]
    if kit.lines:
        parts.append(f"lines {', '.join(kit.lines)}")
    if kit.left_over:
        parts.append(f"left over {', '.join(kit.left_over)}")
    return "; ".join(parts)


def _step(body: StepBody, voice: Voice) -> Iterator[str]:
    yield voice.step(body.step)
    yield "not applicable" if body.not_applicable else ""
    yield f"reason: {body.reason}" if body.reason else ""
    yield f"begun {voice.time(body.started_at)}" if body.started_at else ""
    yield from (f"{reading.characteristic}: {reading_words(reading)}" for reading in body.readings)
    uses = {use.key: use for use in body.consumable_use}
    for name, product in (body.consumables or {}).items():
        yield consumable_words(name, product, uses.get(name))
    yield kit_words(body.kit) if body.kit else ""
    yield from map(fastener_words, body.fasteners)
    yield adjustment_words(body.adjustment) if body.adjustment else ""
    yield from (f"{name}: {count}" for name, count in (body.counts or {}).items())
    yield f"odometer {typed(body.odometer)}" if body.odometer else ""


def _reading(body: ReadingBody, voice: Voice) -> Iterator[str]:
    yield voice.step(body.step)
    for reading in body.readings:
        gauge = f" with {reading.instrument}" if reading.instrument else ""
        yield f"{reading.characteristic}: {reading_words(reading)}{gauge}"
    yield f"reason: {body.reason}" if body.reason else ""


def _correction(body: CorrectionBody, voice: Voice) -> Iterator[str]:
    yield f"{body.correction} on the {body.face}, for {body.characteristic}"
    yield from correction_words(body, voice)


def correction_words(body: CorrectionBody, voice: Voice) -> Iterator[str]:
    """What was kept with a correction: permit, fire watch, checks."""
    if body.permit:
        span = f" from {voice.time(body.permit_from)} to {voice.time(body.permit_to)}" if body.permit_from else ""
        yield f"permit {body.permit}{span}"
    yield f"fire watch until {voice.time(body.fire_watch_until)}" if body.fire_watch_until else ""
    for name, value in (("crack check", body.crack_check), ("cooled", body.cooled)):
        yield "" if value is None else f"{name}: {'yes' if value else 'no'}"
    yield "ground past flush" if body.past_flush else ""


def _cycle(body: CycleBody, _voice: Voice) -> Iterator[str]:
    yield f"cycle {body.cycle}"
    yield from (f"{name}: {'yes' if seen else 'NO'}" for name, seen in body.observations.items())
    yield f"with {body.instrument}" if body.instrument else ""
    yield from (f"{reading.characteristic}: {reading_words(reading)}" for reading in body.readings)


def _hold(body: HoldBody, voice: Voice) -> Iterator[str]:
    yield f"held: {body.reason}"
    yield f"at “{voice.step(body.step)}”" if body.step else ""


def _clear(body: ClearBody, voice: Voice) -> Iterator[str]:
    yield f"clears the hold of {voice.number(body.hold)}: {body.reason}"


def _pause(body: PauseBody, _voice: Voice) -> Iterator[str]:
    yield f"left as: {body.state_note}"


def _resume(body: ResumeBody, _voice: Voice) -> Iterator[str]:
    yield "the state note was read" if body.state_read else "the state note was NOT read"


def _hand_over(body: HandOverBody, voice: Voice) -> Iterator[str]:
    yield f"accepts {voice.number(body.accepts)}" if body.accepts else ""
    yield f"offered to {voice.person(body.to)}" if body.to else ""
    yield f"found or left as: {body.state_note}"


def _move(body: MoveBody, voice: Voice) -> Iterator[str]:
    procedure = voice.contents.bench.facts.procedures.get(body.revision)
    name = f"{procedure.code} rev {procedure.revision}" if procedure else body.revision
    yield f"goes on under {name}: {body.reason}"


def _amendment(body: AmendmentBody, voice: Voice) -> Iterator[str]:
    yield f"amends {voice.number(body.amends)}: {body.reason}"
    yield from body_words(body.body, voice)


def _condemn(body: CondemnBody, voice: Voice) -> Iterator[str]:
    yield f"concurs with {voice.number(body.concurs_with)}" if body.concurs_with else ""
    yield body.reason


def _release(body: ReleaseBody, _voice: Voice) -> Iterator[str]:
    yield body.statement
    yield f"over the chain head {body.chain_head}"


_WORDS: Final[dict[type, Callable[[Any, Voice], Iterator[str]]]] = {
    StepBody: _step,
    ReadingBody: _reading,
    CorrectionBody: _correction,
    CycleBody: _cycle,
    HoldBody: _hold,
    ClearBody: _clear,
    PauseBody: _pause,
    ResumeBody: _resume,
    HandOverBody: _hand_over,
    MoveBody: _move,
    AmendmentBody: _amendment,
    CondemnBody: _condemn,
    ReleaseBody: _release,
}
