"""Corrections: they take credit away whatever they earn; one that earns nothing holds the job."""

from jobs.domain.act import Act
from jobs.domain.bands import correction_named
from jobs.domain.bench import At, Bench
from jobs.domain.entry import Body, CorrectionBody
from jobs.domain.finding import Finding
from jobs.domain.procedure import Step
from jobs.domain.remembered import Corrected, OpenHold
from jobs.domain.rules import (
    r402_correction_count,
    r406_casting_repair,
    r408_past_flush,
    r409_correction_not_accepted,
)

_COUNT = r402_correction_count.RULE.number
_BY_TWO = frozenset({_COUNT, r406_casting_repair.RULE.number, r408_past_flush.RULE.number})


def apply_correction(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if not isinstance(body, CorrectionBody) or step is None:
        bench.record(act.entry, act.at, tuple(findings))
        return
    bench.remember_corrector(act.person)
    if act.scope is not None:
        bench.remember_doer(act.scope.value, act.person)
    answers = claim_correction(bench, act, step, body, findings)
    spec = step.reading(body.characteristic)
    correction = correction_named(spec, body.correction) if spec else None
    title = correction.title if correction else body.correction
    undone = (step.key, *(correction.voids if correction else ()))
    bench.undo(undone, act.entry, f"{title} was done after it.", answers=answers)


def claim_correction(bench: Bench, act: Act, step: Step, body: CorrectionBody, findings: list[Finding]) -> bool:
    """Count a correction with credit, or hold the job for one without; whether it earned credit."""
    against = {finding.rule for finding in findings if finding.withholds_credit}
    if against - {_COUNT}:
        findings = [*findings, r409_correction_not_accepted.finding(act.initials, body.face)]
    if bench.record(act.entry, act.at, tuple(findings)):
        count_correction(bench, act, (step.key, body.characteristic), body.correction)
        return True
    rule = r409_correction_not_accepted.RULE.number if against - {_COUNT} else _COUNT
    last = findings[-1] if against - {_COUNT} else next(f for f in findings if f.rule == _COUNT)
    needs = 2 if against & _BY_TWO else 1
    bench.holds[act.entry.id] = OpenHold(act.entry.id, last.what, step.key, rule, needs)
    return False


def _work_of(body: Body) -> tuple[str, str] | None:
    """What was done, and to which face: working the right one does not give back what was taken from another."""
    return (body.correction, body.face) if isinstance(body, CorrectionBody) else None


def count_correction(bench: Bench, act: Act, at: At, correction: str) -> None:
    """One more correction on a characteristic; the same one made badly before is made good by it."""
    asked = bench.asked.get(at) or bench.measured.get(at)
    done = Corrected(act.entry.id, correction, act.person, act.at, asked.side if asked else None)
    bench.corrected.setdefault(at, []).append(done)
    bench.asked.pop(at, None)
    for hold in [hold for hold in bench.holds.values() if hold.rule == r409_correction_not_accepted.RULE.number]:
        made = bench.entries[hold.entry].body
        is_same = isinstance(made, CorrectionBody) and (made.step, made.characteristic) == at
        if is_same and _work_of(made) == _work_of(act.body) and hold.needs == 1:
            del bench.holds[hold.entry]
