"""What an entry does to the bench, kind by kind: first the findings, then the effects, then the credit."""

from collections.abc import Callable

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.effects.amendments import amend
from jobs.domain.effects.corrections import apply_correction
from jobs.domain.effects.cycles import apply_cycle
from jobs.domain.effects.ends import apply_condemn, apply_release
from jobs.domain.effects.holds import apply_clear, apply_hold
from jobs.domain.effects.readings import apply_reading
from jobs.domain.effects.revisions import apply_move, note_revision
from jobs.domain.effects.shifts import apply_hand_over, apply_pause, apply_resume
from jobs.domain.effects.steps import apply_step
from jobs.domain.entry import AmendmentBody, EntryKind
from jobs.domain.finding import Finding
from jobs.domain.remembered import OpenHold, Outcome
from jobs.domain.rulebook import findings_on
from jobs.domain.rules import r302_out_of_limits, r703_forked_sequence, r707_forked_across_jobs, r901_cycle_failed

_APPLY: dict[EntryKind, Callable[[Bench, Act, list[Finding]], None]] = {
    EntryKind.STEP: apply_step,
    EntryKind.REWORK: apply_step,
    EntryKind.READING: apply_reading,
    EntryKind.CORRECTION: apply_correction,
    EntryKind.VERIFICATION_CYCLE: apply_cycle,
    EntryKind.HOLD: apply_hold,
    EntryKind.CLEAR: apply_clear,
    EntryKind.PAUSE: apply_pause,
    EntryKind.RESUME: apply_resume,
    EntryKind.HAND_OVER: apply_hand_over,
    EntryKind.MOVE: apply_move,
    EntryKind.CONDEMN: apply_condemn,
    EntryKind.RELEASE: apply_release,
}
_FAILS = frozenset({r302_out_of_limits.RULE.number, r901_cycle_failed.RULE.number})
_WORK = frozenset({EntryKind.STEP, EntryKind.REWORK, EntryKind.VERIFICATION_CYCLE, EntryKind.CORRECTION})
TOUCHES = frozenset(
    {
        EntryKind.STEP,
        EntryKind.REWORK,
        EntryKind.CORRECTION,
        EntryKind.AMENDMENT,
        EntryKind.HOLD,
        EntryKind.CONDEMN,
    }
)


def apply(bench: Bench, act: Act) -> None:
    """Judge one act and put its effects on the bench."""
    note_revision(bench, act.placed)
    is_over = bench.signed_off
    if isinstance(act.entry.body, AmendmentBody):
        amend(bench, act, act.entry.body)
    else:
        _APPLY[act.kind](bench, act, findings_on(bench, act))
    if is_over:
        _note_undermining(bench, act)
    _hold_for_fork(bench, act)
    _hold_across_jobs(bench, act)
    _note_device(bench, act)


def _hold_for_fork(bench: Bench, act: Act) -> None:
    """One of two entries of the same number was meant to be forgotten: somebody looks, whatever is logged again."""
    rule = r703_forked_sequence.RULE.number
    for finding in bench.outcomes[act.entry.id].findings:
        if finding.rule == rule:
            bench.hold(OpenHold(act.entry.id, finding.what, getattr(act.body, "step", None), rule))
            return


def _hold_across_jobs(bench: Bench, act: Act) -> None:
    """What was recorded keeps its credit: that the number stands on another job too came up after it."""
    forks = bench.facts.forks.get(act.entry.id)
    if not forks:
        return
    entry, rule = act.entry, r707_forked_across_jobs
    finding = rule.finding(entry.signed.device_seq, forks)
    before = bench.outcomes[entry.id]
    bench.outcomes[entry.id] = Outcome(before.credit, (*before.findings, finding))
    since = min(fork.since for fork in forks)
    bench.hold(OpenHold(entry.id, finding.what, getattr(act.body, "step", None), rule.RULE.number, since=since))


def _note_undermining(bench: Bench, act: Act) -> None:
    """After a release each of these is a reason to look again, whatever was logged before it and looked at.

    So it is where the release itself has lost its credit by what came in late, and quality let it stand.
    """
    found = {finding.rule for finding in bench.outcomes[act.entry.id].findings}
    is_work = act.entry.kind in TOUCHES and not getattr(act.body, "not_applicable", False)
    if is_work or found & _FAILS:
        bench.undermine(act.entry)


def _note_device(bench: Bench, act: Act) -> None:
    entry = act.entry
    bench.last_of_device[entry.key] = entry
    key = bench.facts.keys.get(entry.key)
    if key is not None and key.device is not None:
        bench.last_on_phone[key.device] = entry
    if entry.kind in _WORK:
        bench.last_by_person[act.person] = act.placed
