"""Steps done, done again, or declared not applicable; fasteners loosened."""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.effects.kits import issue_kit
from jobs.domain.effects.readings import Taken, keep, take_all, with_readings
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding
from jobs.domain.procedure import Step
from jobs.domain.remembered import Done
from jobs.domain.rules import r101_prerequisites, r103_done_again


def apply_step(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None:
        bench.record(act.entry, act.at, tuple(findings))
        return
    readings = take_all(bench, act, step, body.readings, body.reason)
    if not body.not_applicable:
        _undo_by_doing(bench, act, step, with_readings(findings, readings))
    _note_tightness(bench, body, step, findings)
    claim_step(bench, act, step, body, findings, readings)


def claim_step(
    bench: Bench, act: Act, step: Step, body: StepBody, findings: list[Finding], readings: list[Taken]
) -> None:
    """What the entry says was done, put on the bench. What doing it undoes has been undone before."""
    if bench.record(act.entry, act.at, with_readings(findings, readings)) and not body.loosens:
        bench.performed[step.key] = Done(act.entry.id, act.person, act.at, body.not_applicable)
        bench.support(step.key, act.entry.id)
        issue_kit(bench, act, step, body)
    keep(bench, act, step, readings, findings)
    bench.settle(step, act.entry)


def _undo_by_doing(bench: Bench, act: Act, step: Step, findings: tuple[Finding, ...]) -> None:
    """The metal does not know who was qualified: doing undoes, with or without credit.

    What had credit keeps it only if the same work was merely logged once more, without a reason.
    """
    bench.remember_doer(step.scope.value, act.person)
    against = {finding.rule for finding in findings if finding.withholds_credit}
    undone = step.voids
    if act.redo_allowed or against - {r103_done_again.RULE.number}:
        undone = (step.key, *step.voids)
    if step.is_adjustment:
        bench.adjustment = act.entry.id
        undone = (*undone, *bench.procedure.verifications)
    if undone:
        bench.undo(undone, act.entry, f"“{step.title}” was done after it.", answers=not against)


def _note_tightness(bench: Bench, body: StepBody, step: Step, findings: list[Finding]) -> None:
    """Fasteners that were tightened before their time stay so until they are loosened."""
    if body.loosens:
        if {fastener.key for fastener in step.fasteners} <= {work.key for work in body.fasteners}:
            bench.tight_early.discard(step.key)
    elif body.fasteners and any(finding.rule == r101_prerequisites.RULE.number for finding in findings):
        bench.tight_early.add(step.key)
