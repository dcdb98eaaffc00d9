"""Gauges found bad after they were used: what governs by them holds the job until it is measured again."""

from dataclasses import replace

from inspections.domain.found_bad import Outcome as Becomes
from inspections.domain.instruments import found_bad_after
from inspections.domain.judging import Verdict
from jobs.domain.bench import At, Bench
from jobs.domain.doubted_reading import rejudged_reading, words_of
from jobs.domain.reading_act import ReadingAct
from jobs.domain.remembered import Doubt, Measured, OpenHold, Outcome
from jobs.domain.rules import r320_gauge_found_bad


def doubt_reading(bench: Bench, at: At, reading: ReadingAct) -> None:
    """Doubt a reading that governs since a moment ago, if its gauge was found bad later and it truly fails."""
    gauge = reading.instrument
    if gauge is None or len(gauge.calibrations) < 2 or bench.measured[at].verdict is Verdict.FAIL:  # noqa: PLR2004
        return
    rejudged, check = rejudged_reading(reading), found_bad_after(gauge, reading.act.at)
    if rejudged is None or check is None or rejudged.outcome is not Becomes.SUSPEND:
        return
    finding = r320_gauge_found_bad.finding(words_of(rejudged, gauge.code))
    found = replace(bench.measured[at], doubt=Doubt(finding.what, check.performed_at))
    before = bench.outcomes[found.entry]
    bench.outcomes[found.entry] = Outcome(before.credit, (*before.findings, finding))
    bench.measured[at] = found
    if not found.waits:
        hold_for_doubt(bench, at[0], found)


def hold_for_doubt(bench: Bench, step: str, found: Measured) -> None:
    """Hold the job for a doubted reading that counts; of one entry's, for all of them at once."""
    if found.doubt is None:
        return
    rule = r320_gauge_found_bad.RULE.number
    bench.hold(OpenHold(found.entry, found.doubt.reason, step, rule, needs=2, since=found.doubt.since))
