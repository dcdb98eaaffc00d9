"""Holds set by hand, and clearings: of holds, of conditional readings, of the last correction, of a condemnation."""

from dataclasses import replace

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.effects.gauges import hold_for_doubt
from jobs.domain.entry import ClearBody, CorrectionBody, HoldBody
from jobs.domain.finding import Finding
from jobs.domain.remembered import BEYOND_CURE, CONDITIONAL, DOUBTED, Corrected, OpenHold
from jobs.domain.rules import r303_conditional, r320_gauge_found_bad, r402_correction_count

_CONDITIONAL, _COUNT = r303_conditional.RULE.number, r402_correction_count.RULE.number
OF_READINGS = frozenset({CONDITIONAL, DOUBTED, BEYOND_CURE})
_DOUBT = r320_gauge_found_bad.RULE.number  # a hold of its own, opened once the reading is accepted


def apply_hold(bench: Bench, act: Act, findings: list[Finding]) -> None:
    bench.record(act.entry, act.at, tuple(findings))
    if isinstance(act.body, HoldBody):
        bench.holds[act.entry.id] = OpenHold(act.entry.id, act.body.reason, act.body.step)


def apply_clear(bench: Bench, act: Act, findings: list[Finding]) -> None:
    if not bench.record(act.entry, act.at, tuple(findings)) or not isinstance(act.body, ClearBody):
        return
    if act.body.hold == bench.condemned_by:
        bench.condemned_by = None
        return
    hold = bench.holds[act.body.hold]
    cleared = (*hold.cleared_by, act.person)
    if len(cleared) < hold.needs:
        bench.holds[hold.entry] = replace(hold, cleared_by=cleared)
        return
    del bench.holds[hold.entry]
    if hold.rule in OF_READINGS:
        _accept_readings(bench, act, hold)
    elif hold.rule == _COUNT:
        _accept_correction(bench, hold)


def _accept_readings(bench: Bench, act: Act, hold: OpenHold) -> None:
    bench.accept(hold.entry, frozenset({_CONDITIONAL, _DOUBT}))
    for at, found in list(bench.measured.items()):
        if found.entry == hold.entry and found.waits and found.counts:
            bench.measured[at] = replace(found, accepted=True)
            hold_for_doubt(bench, at[0], found)
            bench.settle(bench.procedure.by_key[at[0]], act.entry)


def _accept_correction(bench: Bench, hold: OpenHold) -> None:
    """Lead and quality let the correction after the last one count."""
    entry = bench.entries[hold.entry]
    if bench.accept(hold.entry, frozenset({_COUNT})) and isinstance(entry.body, CorrectionBody):
        at = (entry.body.step, entry.body.characteristic)
        asked = bench.asked.pop(at, None)
        side = asked.side if asked else None
        done = Corrected(entry.id, entry.body.correction, entry.technician, bench.times[entry.id], side)
        bench.corrected.setdefault(at, []).append(done)
