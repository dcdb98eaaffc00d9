"""Verification cycles: a run of passed ones, in order, by one person; any fail starts it anew."""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.effects.readings import keep, take_all, with_readings
from jobs.domain.entry import CycleBody
from jobs.domain.finding import Finding
from jobs.domain.procedure import Step
from jobs.domain.rules import r302_out_of_limits, r901_cycle_failed
from jobs.domain.rules.r905_verification_before_work import broken_run

_FAILS = frozenset({r302_out_of_limits.RULE.number, r901_cycle_failed.RULE.number})


def apply_cycle(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if not isinstance(body, CycleBody) or step is None or step.verification is None:
        bench.record(act.entry, act.at, tuple(findings))
        return
    readings = take_all(bench, act, step, body.readings, None)
    everything = with_readings(findings, readings)
    credit = bench.record(act.entry, act.at, everything)
    bench.remember_doer(step.scope.value, act.person)
    if step.voids:
        bench.undo(step.voids, act.entry, f"“{step.title}” was done after it.", answers=credit)
    if credit:
        _count(bench, act, step, step.verification.cycles)
    elif any(finding.rule in _FAILS for finding in everything):
        break_run(bench, act)
        bench.failed_cycles += 1
    keep(bench, act, step, readings, findings)
    bench.settle(step, act.entry)


def _count(bench: Bench, act: Act, step: Step, wanted: int) -> None:
    bench.support(step.key, act.entry.id)
    bench.cycles.append(act.entry.id)
    if len(bench.cycles) >= wanted:
        bench.verification = act.entry.id


def break_run(bench: Bench, act: Act) -> None:
    """What was observed before a fail counts no more."""
    for entry in bench.cycles:
        if entry != act.entry.id:
            bench.withdraw(entry, broken_run())
    bench.cycles = []
    bench.verification = None
