"""Readings: each is judged, then governs its characteristic, then asks for what its band says."""

from inspections.domain.judging import Verdict
from inspections.domain.typed_reading import TypedReading
from jobs.domain.act import Act
from jobs.domain.bands import band_of
from jobs.domain.bench import Bench
from jobs.domain.effects.gauges import doubt_reading
from jobs.domain.entry import ReadingBody
from jobs.domain.finding import Finding
from jobs.domain.procedure import Outcome, Step
from jobs.domain.reading_act import ReadingAct, judged, uncertainty_of
from jobs.domain.remembered import Measured, OpenHold
from jobs.domain.rulebook import findings_on_reading
from jobs.domain.rules import r302_out_of_limits, r303_conditional, r307_read_again, r312_beyond_cure
from jobs.domain.rules.r308_unknown_characteristic import unknown

Taken = tuple[ReadingAct | None, list[Finding]]
"""A reading with its findings; without the reading if the step does not measure that."""

VERDICT_RULES = frozenset(rule.RULE.number for rule in (r302_out_of_limits, r303_conditional, r312_beyond_cure))
"""The findings that speak of the value alone: with nothing else against it, the reading is a proper one."""


def apply_reading(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if not isinstance(body, ReadingBody) or step is None:
        bench.record(act.entry, act.at, tuple(findings))
        return
    bench.remember_doer(step.scope.value, act.person)
    claim_readings(bench, act, step, body, findings)


def claim_readings(bench: Bench, act: Act, step: Step, body: ReadingBody, findings: list[Finding]) -> None:
    """What the entry says was read, put on the bench."""
    readings = take_all(bench, act, step, body.readings, body.reason)
    bench.record(act.entry, act.at, with_readings(findings, readings))
    keep(bench, act, step, readings, findings)
    bench.settle(step, act.entry)


def take_all(bench: Bench, act: Act, step: Step, readings: tuple[TypedReading, ...], reason: str | None) -> list[Taken]:
    """Judge the readings of one entry; of a characteristic only the first one may count."""
    taken: list[Taken] = []
    for place, typed in enumerate(readings):
        reading, findings = take(bench, act, step, typed, reason)
        if reading is not None and any(typed.characteristic == before.characteristic for before in readings[:place]):
            findings = [*findings, r307_read_again.twice(reading.spec.characteristic.title)]
        taken.append((reading, findings))
    return taken


def take(bench: Bench, act: Act, step: Step, typed: TypedReading, reason: str | None) -> Taken:
    """Judge one reading; nothing is put on the bench yet."""
    spec = step.reading(typed.characteristic)
    if spec is None:
        return None, [unknown(step, typed.characteristic)]
    instrument = bench.facts.instruments.get(typed.instrument or "")
    uncertainty = uncertainty_of(instrument, spec)
    judgement = judged(spec.characteristic, typed, uncertainty)
    reading = ReadingAct(act, spec, typed, instrument, uncertainty, judgement, reason)
    return reading, findings_on_reading(bench, reading)


def with_readings(findings: list[Finding], readings: list[Taken]) -> tuple[Finding, ...]:
    """The entry's own findings and those of its readings."""
    return (*findings, *(finding for _, found in readings for finding in found))


def keep(bench: Bench, act: Act, step: Step, readings: list[Taken], own: list[Finding]) -> None:
    """Let each reading govern its characteristic. `own` are the entry's findings without those of its readings."""
    entry_proper = not any(finding.withholds_credit for finding in own)
    for reading, findings in readings:
        if reading is not None:
            against = [finding.rule for finding in findings if finding.withholds_credit]
            proper = entry_proper and all(rule in VERDICT_RULES for rule in against)
            _govern(bench, act, step, reading, counts=entry_proper and not against, proper=proper)


def _govern(bench: Bench, act: Act, step: Step, reading: ReadingAct, *, counts: bool, proper: bool) -> None:
    judgement, at = reading.judgement, (step.key, reading.spec.key)
    if judgement.verdict is Verdict.NONE:
        return
    if not proper and judgement.verdict is not Verdict.FAIL:
        return  # a reading that does not count never replaces one that does, unless it warns
    measured = Measured(
        entry=act.entry.id,
        person=act.person,
        at=act.at,
        verdict=judgement.verdict,
        value=judgement.value,
        side=judgement.side,
        counts=counts or (proper and judgement.verdict is Verdict.CONDITIONAL),
        proper=proper,
        instrument=reading.typed.instrument,
        judgement=judgement,
    )
    bench.drop_reading(at)
    bench.measured[at] = measured
    bench.support(step.key, act.entry.id)
    if not proper:
        return
    if judgement.verdict is Verdict.FAIL:
        bench.asked[at] = measured
        _follow_band(bench, act, step, reading)
    else:
        bench.asked.pop(at, None)
    if judgement.verdict is Verdict.CONDITIONAL:
        rule = r303_conditional.RULE.number
        bench.hold(OpenHold(act.entry.id, judgement.explanation, step.key, rule))
    doubt_reading(bench, at, reading)


def _follow_band(bench: Bench, act: Act, step: Step, reading: ReadingAct) -> None:
    """Do what a proper reading outside its limits asks for: work to be done again, or a decision about the part."""
    band = band_of(reading.spec, reading.judgement.value)
    if band is None:
        return
    if band.then is Outcome.CONDEMN:
        reason = reading.judgement.explanation
        bench.hold(OpenHold(act.entry.id, reason, step.key, r312_beyond_cure.RULE.number))
    if band.then is Outcome.REWORK and band.rework and band.rework != step.key:
        at = (step.key, reading.spec.key)
        measured = bench.measured[at]
        title = reading.spec.characteristic.title
        bench.undo((band.rework,), act.entry, f"{title} was found outside its limits.", answers=False)
        bench.measured[at] = measured
