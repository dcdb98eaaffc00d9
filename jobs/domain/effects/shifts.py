"""Pause, resume, hand-over: who has the job in hand, and the state in which it was left."""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import HandOverBody
from jobs.domain.finding import Finding


def apply_pause(bench: Bench, act: Act, findings: list[Finding]) -> None:
    bench.record(act.entry, act.at, tuple(findings))
    bench.paused_by = act.entry.id


def apply_resume(bench: Bench, act: Act, findings: list[Finding]) -> None:
    if bench.record(act.entry, act.at, tuple(findings)):
        bench.paused_by = None


def apply_hand_over(bench: Bench, act: Act, findings: list[Finding]) -> None:
    """An offer leaves the job in nobody's hands until it is accepted; accepting also ends a pause.

    Who takes over a pause has not taken what was offered to somebody else in between.
    """
    if not bench.record(act.entry, act.at, tuple(findings)) or not isinstance(act.body, HandOverBody):
        return
    if act.body.accepts is None:
        bench.offered_by = act.entry.id
        return
    bench.paused_by = None
    if act.body.accepts == bench.offered_by:
        bench.offered_by = None
