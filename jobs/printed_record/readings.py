"""The readings: each characteristic with its limits, every reading drawn against them and explained, and what was
corrected in between.
"""

from collections.abc import Iterator
from typing import Final
from uuid import UUID

from inspections.domain.characteristic import Characteristic, Method, RuleKind
from inspections.domain.instruments import instrument_state
from inspections.domain.judging import Verdict
from inspections.domain.reader import Reader, reader_unit
from jobs.domain.entry import CycleBody, StepBody
from jobs.printed_record.blocks import (
    NOT_RECORDED,
    Block,
    Cell,
    Heading,
    Line,
    Paragraph,
    Run,
    Section,
    Table,
    Tone,
    cell,
    line,
)
from jobs.printed_record.body_words import correction_words, reading_words
from jobs.printed_record.contents import Contents, said
from jobs.printed_record.number_lines import TONES, WORDS, number_line, said_value
from jobs.printed_record.reading_groups import CorrectionSeen, Group, ReadingSeen, groups_of
from jobs.printed_record.shapes import shape_blocks
from jobs.printed_record.voice import Voice, typed

_WIDTHS: Final = (0.12, 0.22, 0.20, 0.46)
_LEGEND: Final = (
    "Drawn: the limits as upright strokes, nominal dashed, green where this gauge passes, hatched its guard band; each "
    "value with its expanded uncertainty (k = 2). Below: as typed, with what gauge, what it comes to, why."
)
_RULES: Final = {
    RuleKind.SIMPLE: "simple acceptance",
    RuleKind.GUARDED: "acceptance guarded by U",
    RuleKind.GUARDED_REJECTION: "rejection guarded by U",
    RuleKind.GUARDED_BOTH: "acceptance and rejection guarded by U",
}
_METHODS: Final = {
    Method.SINGLE: "",
    Method.COUNT: "counted",
    Method.FLATNESS_GRID: "minimum zone over a grid of heights",
    Method.BORE: "largest less smallest diameter at one depth",
}


def readings_section(contents: Contents, voice: Voice) -> Section:
    blocks: list[Block] = [Paragraph(line(_LEGEND, Tone.QUIET))]
    step = None
    for group in groups_of(contents):
        if group.step != step:
            step = group.step
            blocks.append(Heading(line(voice.step(step), Tone.STRONG)))
        blocks += _group_blocks(group, voice)
    if len(blocks) == 1:
        blocks = [Paragraph(line("The procedure asks for no readings, and none were taken.", Tone.QUIET))]
    return Section("Readings against their limits", tuple(blocks))


def _group_blocks(group: Group, voice: Voice) -> Iterator[Block]:
    wanted = group.spec.characteristic
    yield Paragraph((Run(wanted.title, Tone.STRONG), Run(f": {_asked(wanted, voice)}")), kept=True)
    if not group.acts:
        yield Paragraph(line(NOT_RECORDED, Tone.QUIET))
        return
    drawn = number_line(group, voice)
    if drawn is not None:
        yield drawn
    yield Table((), tuple(_row(act, voice) for act in group.acts), _WIDTHS)
    for seen in group.readings:
        yield from shape_blocks(seen, voice)


def _asked(wanted: Characteristic, voice: Voice) -> str:
    """The limits and the rule, in the reader's unit."""
    reader = Reader(wanted, reader_unit(wanted, voice.unit), None)
    parts = [limits_words(wanted, reader)]
    if wanted.nominal is not None:
        parts.append(f"nominal {reader.says_limit(wanted.nominal)}")
    if wanted.limits.lower is not None or wanted.limits.upper is not None:
        parts.append(_RULES[wanted.rule.kind])
    parts += [_METHODS[wanted.method], f"median of {wanted.repeats}" if wanted.repeats > 1 else ""]
    return ", ".join(part for part in parts if part)


def limits_words(wanted: Characteristic, reader: Reader) -> str:
    low, high = wanted.limits.lower, wanted.limits.upper
    if low is not None and high is not None:
        if low == high:
            return f"exactly {reader.says_limit(low)}"
        ends = "" if wanted.limits.lower_inclusive and wanted.limits.upper_inclusive else ", ends as the procedure says"
        return f"{reader.limit(low)} to {reader.says_limit(high)}{ends}"
    if low is not None:
        return f"{'at least' if wanted.limits.lower_inclusive else 'more than'} {reader.says_limit(low)}"
    if high is not None:
        return f"{'at most' if wanted.limits.upper_inclusive else 'less than'} {reader.says_limit(high)}"
    return "no limits; noted as found"


def _row(act: ReadingSeen | CorrectionSeen, voice: Voice) -> tuple[Cell, ...]:
    struck = voice.is_struck(act.entry.id)
    entry = (*_numbered(act, voice), *_standing(act.entry.id, voice))
    when = (line(voice.act_time(act.entry)), line(voice.person(act.entry.technician)))
    if isinstance(act, CorrectionSeen):
        return (entry, when, cell(f"on the {act.body.face}", struck=struck), _corrected(act, voice))
    return (entry, when, _typed(act, voice), _judged(act, voice))


def _numbered(act: ReadingSeen | CorrectionSeen, voice: Voice) -> Cell:
    number = line(voice.number(act.entry.id), Tone.STRONG)
    if isinstance(act, ReadingSeen):
        return (number, line(act.role))
    return (number, line(f"correction {act.number}" if act.number else "correction, without credit"))


def _standing(entry: UUID, voice: Voice) -> Iterator[Line]:
    """Whether it was amended or has no credit; a reading that failed says so itself."""
    amended = voice.contents.amended.get(entry)
    if amended is not None:
        yield line(f"amended by {voice.number(amended.id)}", Tone.DOUBT)
    if not voice.has_credit(entry):
        yield line("no credit", Tone.BAD)


def _typed(seen: ReadingSeen, voice: Voice) -> Cell:
    struck = voice.is_struck(seen.entry.id)
    lines = [line(reading_words(seen.typed), struck=struck), _gauge(seen, voice)]
    warmth = (("plate", seen.typed.plate_temperature), ("air", seen.typed.air_temperature))
    lines += [line(f"{name} {typed(value)}", struck=struck) for name, value in warmth if value is not None]
    if seen.typed.state:
        lines.append(line(seen.typed.state, struck=struck))
    _, body = said(seen.entry)
    reason = None if isinstance(body, CycleBody | StepBody) else getattr(body, "reason", None)
    if reason:
        lines.append(line(f"reason: {reason}", struck=struck))
    return tuple(lines)


def _gauge(seen: ReadingSeen, voice: Voice) -> Line:
    name = seen.typed.instrument
    if name is None:
        asked = seen.judgement.account.characteristic.instruments
        return line(f"gauge: {NOT_RECORDED}" if asked else "no gauge asked for", Tone.QUIET)
    if seen.gauge is None:
        return line(f"{name}: not on the register", Tone.BAD)
    wanted = seen.judgement.account.characteristic
    state = instrument_state(seen.gauge, voice.contents.bench.times[seen.entry.id], wanted.instruments, None)
    words = f"{name}, {seen.gauge.kind.value.replace('_', ' ')}, {state.status.value.replace('_', ' ')}"
    return line(words, Tone.PLAIN if state.trusted else Tone.BAD)


def _judged(seen: ReadingSeen, voice: Voice) -> Cell:
    judgement, struck = seen.judgement, voice.is_struck(seen.entry.id)
    verdict = Run(WORDS[judgement.verdict], TONES[judgement.verdict], struck)
    value = Run(f"{said_value(judgement, voice)}: ", Tone.STRONG, struck)
    first: Line = (verdict,) if judgement.verdict is Verdict.NONE else (value, verdict)
    wanted = judgement.account.characteristic
    why = judgement.explained_in(reader_unit(wanted, voice.unit))
    lines = [first, line(why, Tone.QUIET if struck else Tone.PLAIN)]
    if wanted.instruments and judgement.account.uncertainty is None and judgement.verdict is not Verdict.NONE:
        lines.append(line(f"Uncertainty: {NOT_RECORDED}.", Tone.QUIET))
    governing = voice.contents.bench.measured.get(seen.at)
    if seen.governs and governing is not None and governing.doubt is not None:
        lines.append(line(governing.doubt.reason, Tone.BAD))
    if seen.governs and governing is not None and governing.accepted:
        lines.append(line("Accepted by a lead: see exceptions.", Tone.DOUBT))
    return tuple(lines)


def _corrected(act: CorrectionSeen, voice: Voice) -> Cell:
    struck = voice.is_struck(act.entry.id)
    kept = [text for text in correction_words(act.body, voice) if text]
    return (line(act.title, Tone.STRONG, struck=struck), *(line(text, struck=struck) for text in kept))
