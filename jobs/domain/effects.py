"""What an entry does to the bench, kind by kind: first the findings, then the effects, then the credit."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from inspections.domain.instruments import InstrumentFacts
from inspections.domain.judging import Verdict, judge
from inspections.domain.quantities import QuantityError, parse_quantity
from inspections.domain.typed_reading import TypedReading
from jobs.domain.act import Act
from jobs.domain.bands import band_of, correction_named
from jobs.domain.bench import Bench, Corrected, Measured, OpenHold
from jobs.domain.entry import (
    AmendmentBody,
    ClearBody,
    CondemnBody,
    CorrectionBody,
    CycleBody,
    Entry,
    EntryKind,
    HandOverBody,
    HoldBody,
    ReadingBody,
    StepBody,
)
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.gate import unmet_by_the_record
from jobs.domain.procedure import Outcome, ReadingSpec, Step
from jobs.domain.reading_act import ReadingAct
from jobs.domain.rulebook import findings_on, findings_on_reading
from jobs.domain.rules.r308_unknown_characteristic import unknown

AMENDED = Rule(
    114, "amended", "An amended entry stays, without credit; the amendment speaks.", Response.NO_CREDIT
)
GATE_CLOSED = Rule(999, "gate_closed", "A release over a closed gate is no release.", Response.NO_CREDIT)


def apply(bench: Bench, act: Act) -> None:
    """Judge one act and put its effects on the bench."""
    findings = findings_on(bench, act)
    if isinstance(act.entry.body, AmendmentBody):
        _withdraw_amended(bench, act.entry, act.entry.body)
    _APPLY[act.kind](bench, act, findings)


def _withdraw_amended(bench: Bench, entry: Entry, body: AmendmentBody) -> None:
    target = bench.entries.get(body.amends)
    if target is None or target.technician != entry.technician:
        return
    bench.withdraw(
        target.id, AMENDED.found("A later amendment says what it should have said.", "See the amendment.")
    )
    for at in [at for at, found in bench.measured.items() if found.entry == target.id]:
        del bench.measured[at]
    for key in [key for key, found in bench.performed.items() if found.id == target.id]:
        del bench.performed[key]
        bench.credited.pop(key, None)
    bench.holds.pop(target.id, None)


def _apply_step(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None:
        bench.record(act.entry, tuple(findings))
        return
    readings = [_take(bench, act, step, typed, body.reason) for typed in body.readings]
    findings = [*findings, *(finding for _, found in readings for finding in found)]
    if not body.not_applicable:
        _undo_by_doing(bench, act, step)
    if bench.record(act.entry, tuple(findings)):
        bench.performed[step.key] = act.entry
        bench.support(step.key, act.entry.id)
    _keep(bench, act, step, readings)
    bench.settle(step, act.entry)


def _undo_by_doing(bench: Bench, act: Act, step: Step) -> None:
    """The metal does not know who was qualified: doing undoes, with or without credit."""
    bench.remember_doer(step.scope.value, act.person)
    if step.is_adjustment:
        bench.adjustment = act.entry.id
    undone = (step.key, *step.voids) if act.redo_allowed else step.voids
    if undone:
        bench.undo(undone, act.entry, f"“{step.title}” was done after it.")


def _apply_reading(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if not isinstance(body, ReadingBody) or step is None:
        bench.record(act.entry, tuple(findings))
        return
    bench.remember_doer(step.scope.value, act.person)
    readings = [_take(bench, act, step, typed, body.reason) for typed in body.readings]
    bench.record(act.entry, (*findings, *(finding for _, found in readings for finding in found)))
    _keep(bench, act, step, readings)
    bench.settle(step, act.entry)


Taken = tuple[ReadingAct | None, list[Finding]]


def _take(bench: Bench, act: Act, step: Step, typed: TypedReading, reason: str | None) -> Taken:
    """Judge one reading; nothing is put on the bench yet."""
    spec = step.reading(typed.characteristic)
    if spec is None:
        return None, [unknown(step, typed.characteristic)]
    instrument = bench.facts.instruments.get(typed.instrument or "")
    uncertainty = uncertainty_of(instrument, spec)
    judgement = judge(spec.characteristic, typed, uncertainty)
    reading = ReadingAct(act, spec, typed, instrument, uncertainty, judgement, reason)
    return reading, findings_on_reading(bench, reading)


def uncertainty_of(instrument: InstrumentFacts | None, spec: ReadingSpec) -> Fraction | None:
    """The instrument's expanded uncertainty in the characteristic's unit, where both measure the same thing."""
    if instrument is None:
        return None
    if instrument.unit == spec.characteristic.unit:
        return instrument.uncertainty
    try:
        return parse_quantity("1", instrument.unit).to(spec.characteristic.unit) * instrument.uncertainty
    except QuantityError:
        return None


_VERDICT_RULES = frozenset({302, 303})


def _keep(bench: Bench, act: Act, step: Step, readings: list[Taken]) -> None:
    """Let each reading govern its characteristic, and do what a failed one asks for."""
    entry_proper = all(
        f.rule in _VERDICT_RULES or not f.withholds_credit for f in _others(bench, act, readings)
    )
    for reading, findings in readings:
        if reading is None:
            continue
        clean = not any(finding.withholds_credit for finding in findings)
        proper = entry_proper and all(f.rule in _VERDICT_RULES for f in findings if f.withholds_credit)
        _govern(bench, act, step, reading, counts=clean and entry_proper, proper=proper)


def _others(bench: Bench, act: Act, readings: list[Taken]) -> list[Finding]:
    """The entry's own findings, without those of its readings."""
    of_readings = [finding for _, findings in readings for finding in findings]
    return [f for f in bench.outcomes[act.entry.id].findings if f not in of_readings]


def _govern(bench: Bench, act: Act, step: Step, reading: ReadingAct, *, counts: bool, proper: bool) -> None:
    judgement, at = reading.judgement, (step.key, reading.spec.key)
    if judgement.verdict is Verdict.NONE:
        return
    if not proper and judgement.verdict is not Verdict.FAIL:
        return  # a reading that does not count never replaces one that does, unless it warns
    bench.measured[at] = Measured(
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
    bench.support(step.key, act.entry.id)
    if judgement.verdict is Verdict.CONDITIONAL and proper:
        bench.holds[act.entry.id] = OpenHold(act.entry.id, judgement.explanation, step.key, 303)
    if judgement.verdict is Verdict.FAIL:
        _follow_band(bench, act, step, reading)


def _follow_band(bench: Bench, act: Act, step: Step, reading: ReadingAct) -> None:
    band = band_of(reading.spec, reading.judgement.value)
    if band is not None and band.then is Outcome.REWORK and band.rework and band.rework != step.key:
        kept = dict(bench.measured)
        title = reading.spec.characteristic.title
        bench.undo((band.rework,), act.entry, f"{title} was found outside its limits.")
        bench.measured[(step.key, reading.spec.key)] = kept[(step.key, reading.spec.key)]


def _apply_correction(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if not isinstance(body, CorrectionBody) or step is None:
        bench.record(act.entry, tuple(findings))
        return
    bench.remember_corrector(act.person)
    if act.scope is not None:
        bench.remember_doer(act.scope.value, act.person)
    spec = step.reading(body.characteristic)
    correction = correction_named(spec, body.correction) if spec else None
    voids = correction.voids if correction else ()
    bench.undo(
        (step.key, *voids),
        act.entry,
        f"{correction.title if correction else body.correction} was done after it.",
    )
    done = Corrected(act.entry.id, body.correction, act.person, act.at)
    bench.corrected.setdefault((step.key, body.characteristic), []).append(done)
    if not bench.record(act.entry, tuple(findings)):
        _hold_if_asked(bench, act, findings)


def _hold_if_asked(bench: Bench, act: Act, findings: list[Finding]) -> None:
    asked = next((finding for finding in findings if finding.response is Response.HOLD), None)
    if asked is not None:
        bench.holds[act.entry.id] = OpenHold(act.entry.id, asked.what, act.entry.signed.step, asked.rule)


def _apply_cycle(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if not isinstance(body, CycleBody) or step is None or step.verification is None:
        bench.record(act.entry, tuple(findings))
        return
    readings = [_take(bench, act, step, typed, None) for typed in body.readings]
    credit = bench.record(act.entry, (*findings, *(finding for _, found in readings for finding in found)))
    bench.support(step.key, act.entry.id)
    if credit:
        bench.cycles.append(act.entry.id)
        if len(bench.cycles) >= step.verification.cycles:
            bench.verification = act.entry.id
    elif any(finding.rule == 901 for finding in findings) or any(found for _, found in readings):  # noqa: PLR2004
        bench.cycles = []
        bench.verification = None
        bench.failed_cycles += 1
    bench.remember_doer(step.scope.value, act.person)
    _keep(bench, act, step, readings)
    bench.settle(step, act.entry)


def _apply_hold(bench: Bench, act: Act, findings: list[Finding]) -> None:
    bench.record(act.entry, tuple(findings))
    if isinstance(act.body, HoldBody):
        bench.holds[act.entry.id] = OpenHold(act.entry.id, act.body.reason, act.body.step)


def _apply_clear(bench: Bench, act: Act, findings: list[Finding]) -> None:
    if not bench.record(act.entry, tuple(findings)) or not isinstance(act.body, ClearBody):
        return
    hold = bench.holds.pop(act.body.hold)
    for at, found in list(bench.measured.items()):
        if found.entry == hold.entry and found.verdict is Verdict.CONDITIONAL:
            bench.measured[at] = replace(found, accepted=True)
            step = bench.procedure.by_key[at[0]]
            bench.settle(step, act.entry)


def _apply_pause(bench: Bench, act: Act, findings: list[Finding]) -> None:
    bench.record(act.entry, tuple(findings))
    bench.paused_by = act.entry.id


def _apply_resume(bench: Bench, act: Act, findings: list[Finding]) -> None:
    if bench.record(act.entry, tuple(findings)):
        bench.paused_by = None


def _apply_hand_over(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body = act.body
    if not bench.record(act.entry, tuple(findings)) or not isinstance(body, HandOverBody):
        return
    if body.accepts is not None:
        bench.offered_to, bench.paused_by = None, None
    else:
        bench.offered_to = body.to


def _apply_move(bench: Bench, act: Act, findings: list[Finding]) -> None:
    bench.record(act.entry, tuple(findings))


def _apply_condemn(bench: Bench, act: Act, findings: list[Finding]) -> None:
    if not bench.record(act.entry, tuple(findings)) or not isinstance(act.body, CondemnBody):
        return
    if act.body.concurs_with is None:
        bench.condemned_by = act.entry.id
    else:
        bench.concurred_by = act.entry.id


def _apply_release(bench: Bench, act: Act, findings: list[Finding]) -> None:
    unmet = unmet_by_the_record(bench)
    closed = [GATE_CLOSED.found(blocker.what, blocker.cure) for blocker in unmet]
    if bench.record(act.entry, (*findings, *closed)):
        bench.released_by = act.entry.id
        release = bench.procedure.release_step
        if release is not None:
            bench.credited[release.key] = act.entry.id


_APPLY: dict[EntryKind, Callable[[Bench, Act, list[Finding]], None]] = {
    EntryKind.STEP: _apply_step,
    EntryKind.REWORK: _apply_step,
    EntryKind.READING: _apply_reading,
    EntryKind.CORRECTION: _apply_correction,
    EntryKind.VERIFICATION_CYCLE: _apply_cycle,
    EntryKind.HOLD: _apply_hold,
    EntryKind.CLEAR: _apply_clear,
    EntryKind.PAUSE: _apply_pause,
    EntryKind.RESUME: _apply_resume,
    EntryKind.HAND_OVER: _apply_hand_over,
    EntryKind.MOVE: _apply_move,
    EntryKind.CONDEMN: _apply_condemn,
    EntryKind.RELEASE: _apply_release,
}
