"""The readings of a characteristic drawn against their limits: one scale, one mark for each reading.

Only what was judged has a value and so a mark. Where neither limit exists there is nothing to draw against.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from inspections.domain.characteristic import Characteristic, RuleKind
from inspections.domain.judging import Judgement, Verdict
from inspections.domain.reader import Reader, reader_unit
from inspections.domain.tolerance import acceptance_limits
from jobs.printed_record.blocks import Label, Mark, NumberLine, Tone
from jobs.printed_record.reading_groups import Group, ReadingSeen
from jobs.printed_record.voice import Voice

TONES: Final = {
    Verdict.PASS: Tone.GOOD,
    Verdict.CONDITIONAL: Tone.DOUBT,
    Verdict.FAIL: Tone.BAD,
    Verdict.NONE: Tone.DOUBT,
}
WORDS: Final = {
    Verdict.PASS: "pass",
    Verdict.CONDITIONAL: "conditional",
    Verdict.FAIL: "FAIL",
    Verdict.NONE: "not judged",
}


def number_line(group: Group, voice: Voice) -> NumberLine | None:
    wanted = group.spec.characteristic
    limits = wanted.limits
    marks = _marks(group.readings, wanted, voice)
    if (limits.lower is None and limits.upper is None) or not marks:
        return None
    unit = reader_unit(wanted, voice.unit)
    reader = Reader(wanted, unit, None)

    def label(at: Fraction | None) -> Label | None:
        return None if at is None else Label(at, reader.limit(at))

    return NumberLine(label(limits.lower), label(limits.upper), label(wanted.nominal), reader.target.symbol, marks)


def _marks(readings: Sequence[ReadingSeen], wanted: Characteristic, voice: Voice) -> tuple[Mark, ...]:
    """Of readings under the limits of `wanted`; what an earlier revision limited otherwise is told in words only."""
    return tuple(
        _mark(seen, seen.judgement.value, voice)
        for seen in readings
        if seen.judgement.value is not None and _same_limits(seen.judgement, wanted)
    )


def _same_limits(judgement: Judgement, wanted: Characteristic) -> bool:
    own = judgement.account.characteristic
    return (own.limits, own.unit) == (wanted.limits, wanted.unit)


def _mark(seen: ReadingSeen, value: Fraction, voice: Voice) -> Mark:
    account = seen.judgement.account
    rule, expanded = account.characteristic.rule, account.uncertainty
    known = expanded is not None or rule.kind is RuleKind.SIMPLE
    passing = acceptance_limits(account.characteristic.limits, rule, expanded) if known else None
    return Mark(
        name=f"{voice.number(seen.entry.id)} {voice.initials(seen.entry)}, {seen.role}",
        value=value,
        uncertainty=expanded,
        passes_from=passing.lower if passing else None,
        passes_to=passing.upper if passing else None,
        said=f"{said_value(seen.judgement, voice)}: {WORDS[seen.judgement.verdict]}",
        tone=TONES[seen.judgement.verdict],
        struck=voice.is_struck(seen.entry.id),
        governs=seen.governs,
    )


def reader_of(judgement: Judgement, voice: Voice) -> Reader:
    wanted = judgement.account.characteristic
    return Reader(wanted, reader_unit(wanted, voice.unit), judgement.account.uncertainty)


def said_value(judgement: Judgement, voice: Voice) -> str:
    """`0.219 in ± 0.0102 in`, or `0.1875 in (3/16)`; nothing where nothing was judged."""
    if judgement.value is None:
        return "no value"
    reader = reader_of(judgement, voice)
    text = reader.says(judgement.value)
    expanded = judgement.account.uncertainty
    return f"{text} ± {reader.length(expanded)}" if expanded else text
