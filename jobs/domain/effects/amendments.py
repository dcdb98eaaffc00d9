"""Amendments: the amended entry stays without credit, and what it should have said takes its place.

An amendment is words, not work: it undoes nothing by itself, cures nothing that the act itself lacked (order,
qualification, a valid key), and is judged as of the time of the act. Observations of a verification are never
amended into a pass: they are made again.
"""

from uuid import UUID

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.effects.corrections import claim_correction
from jobs.domain.effects.cycles import break_run
from jobs.domain.effects.kits import withdraw_kit
from jobs.domain.effects.readings import claim_readings, take_all
from jobs.domain.effects.steps import claim_step
from jobs.domain.entry import AmendmentBody, CorrectionBody, ReadingBody, StepBody
from jobs.domain.finding import Finding
from jobs.domain.remembered import OpenHold, Outcome
from jobs.domain.rulebook import STAYS_WITH_THE_ACT, findings_on_amendment, findings_on_content
from jobs.domain.rules import (
    r114_amended,
    r313_amended_from_fail,
    r402_correction_count,
    r409_correction_not_accepted,
)
from jobs.domain.rules.r109_undone import undone_finding
from jobs.domain.rules.r113_amends_nothing import said_by

_OF_A_CORRECTION = frozenset({r402_correction_count.RULE.number, r409_correction_not_accepted.RULE.number})


def amend(bench: Bench, act: Act, body: AmendmentBody) -> None:
    """Judge an amendment and put what it says in the place of the entry that it amends."""
    findings = findings_on_amendment(bench, act)
    if any(finding.withholds_credit for finding in findings):
        bench.record(act.entry, act.at, tuple(findings))
        return
    spoken = bench.said_of(body.amends)
    before = [finding for said in spoken for finding in bench.outcomes[said].findings]
    findings += dict.fromkeys(finding for finding in before if finding.rule in STAYS_WITH_THE_ACT)
    findings += _undone_since(bench, act, body, {finding.rule for finding in findings})
    findings += findings_on_content(bench, act)
    if not any(finding.withholds_credit for finding in findings):
        findings += r313_amended_from_fail.findings(before, said_by(bench.entries[body.amends]), body.body)
    for said in spoken:
        _withdraw(bench, act, said)
    bench.amended.setdefault(spoken[0], []).append(act.entry.id)
    _claim(bench, act, findings)


def _undone_since(bench: Bench, act: Act, body: AmendmentBody, told: set[int]) -> list[Finding]:
    """What was undone or done again since is not given credit by words, also where it had none to lose then."""
    step = act.step
    if step is None or isinstance(act.body, CorrectionBody):
        return []
    by, because = bench.undone.get(step.key, (None, ""))
    if by is None or not bench.is_later_work(by, body.amends):
        done = bench.performed.get(step.key)
        by, because = (done.entry, f"“{step.title}” was done again after it.") if done else (None, "")
    if by is None or not bench.is_later_work(by, body.amends):
        return []
    finding = undone_finding(act.kind, step.title, because)
    return [] if finding.rule in told else [finding]


def _withdraw(bench: Bench, act: Act, target: UUID) -> None:
    """What is amended speaks no more; nor does what amended it before."""
    outcome = bench.outcomes[target]
    if not any(finding.rule == r114_amended.RULE.number for finding in outcome.findings):
        bench.outcomes[target] = Outcome(False, (*outcome.findings, r114_amended.finding()))
        bench.changed.add(target)
    for at in [at for at, found in bench.measured.items() if found.entry == target]:
        bench.drop_reading(at)
    for key in [key for key, done in bench.performed.items() if done.entry == target]:
        del bench.performed[key]
    for corrections in bench.corrected.values():
        corrections[:] = [correction for correction in corrections if correction.entry != target]
    withdraw_kit(bench, target)
    if target in bench.cycles:
        break_run(bench, act)
    hold = bench.holds.get(target)
    if hold is not None and hold.rule in _OF_A_CORRECTION and not _takes_two(hold):
        del bench.holds[target]


def _takes_two(hold: OpenHold) -> bool:
    """A casting that was repaired, a face past flush: words do not undo that, two people decide."""
    return hold.rule == r409_correction_not_accepted.RULE.number and hold.needs > 1


def _claim(bench: Bench, act: Act, findings: list[Finding]) -> None:
    body, step = act.body, act.step
    if step is None:
        bench.record(act.entry, act.at, tuple(findings))
    elif isinstance(body, StepBody):
        readings = take_all(bench, act, step, body.readings, body.reason)
        claim_step(bench, act, step, body, findings, readings)
    elif isinstance(body, ReadingBody):
        claim_readings(bench, act, step, body, findings)
    elif isinstance(body, CorrectionBody):
        claim_correction(bench, act, step, body, findings)
    else:
        bench.record(act.entry, act.at, tuple(findings))
        bench.settle(step, act.entry)
