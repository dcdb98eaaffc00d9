"""Rules 320 and 321: readings of a gauge that was found bad later."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest

from inspections.domain.instruments import Calibration, CalibrationResult, CheckPoint
from jobs.domain.facts import Facts
from jobs.domain.gate import unmet_by_the_record
from tests.acts import LOCK_TRAVEL, ON_KINGPIN, PR_11, WARMTH, Act, jaw_gap, reading, typed
from tests.domain.rules.story import Story
from tests.strategies import START, world_facts

THIN = (CheckPoint(Fraction("0.194"), Fraction("0.200")),)


def found(result: CalibrationResult, *points: CheckPoint, code: str = "FG-11") -> Facts:
    """The facts of the world, and a calibration of one gauge six weeks later."""
    facts = world_facts()
    at = START + timedelta(days=43)
    gauge = facts.instruments[code]
    check = Calibration(at, at + timedelta(days=365), result, points, ())
    gauge = replace(gauge, calibrations=(*gauge.calibrations, check))
    return replace(facts, instruments={**facts.instruments, code: gauge})


@pytest.mark.rule(320)
def test_a_reading_that_fails_with_the_error_of_its_gauge_says_by_how_much() -> None:
    story = Story(facts=found(CalibrationResult.FAILED, *THIN)).until("measure-lock")
    low = story.do(jaw_gap(".192", ".184", ".183"))
    assert low.rules == {303, 320}
    assert "Recorded 0.184 in, with its error truly 0.178 in: fail" in low.what(320)


@pytest.mark.rule(320)
def test_what_was_accepted_by_a_lead_is_held_again_for_the_gauge_and_needs_two() -> None:
    story = Story(facts=found(CalibrationResult.ADJUSTED, *THIN)).until("measure-lock")
    low = story.do(jaw_gap(".184", ".184", ".184"))
    assert [hold.rule for hold in story.bench.holds.values()] == [303]
    story.do(Act("JD", "clear", {"hold": low.id, "reason": "Seen, accepted."}))
    assert low.credit
    assert [(hold.rule, hold.needs) for hold in story.bench.holds.values()] == [(320, 2)]
    for lead in ("JD", "OK"):
        story.do(Act(lead, "clear", {"hold": low.id, "reason": "Measured by feel, it is good."}))
    assert not story.bench.holds


@pytest.mark.rule(320)
def test_a_release_that_was_signed_before_the_gauge_was_checked_stands_in_the_record() -> None:
    story = Story(facts=found(CalibrationResult.FAILED, CheckPoint(Fraction("0.180"), Fraction("0.200"))))
    story.through("cam-bolt-finger-tight")
    gap = story.do(jaw_gap(".193", ".193", ".193"))
    story.do(LOCK_TRAVEL)
    for act in PR_11[PR_11.index(LOCK_TRAVEL) + 1 :]:
        story.do(act)
    assert 320 in gap.rules
    assert [blocker.code for blocker in unmet_by_the_record(story.bench)] == ["hold_open"]
    release = story.do(Act("JD", "release", {"chain_head": "00" * 32, "statement": "Released."}))
    assert release.credit
    assert story.bench.released_by == release.id


@pytest.mark.rule(320)
def test_a_bad_gauge_clears_nothing_a_recorded_fail_stays_one_though_it_is_truly_inside() -> None:
    story = Story(facts=found(CalibrationResult.FAILED, *THIN)).until("measure-lock")
    large = story.do(jaw_gap(".264", ".264", ".264"))
    assert large.rules == {302}
    assert not large.credit


@pytest.mark.rule(320)
def test_a_reading_with_a_good_gauge_lifts_the_hold_without_anybody_deciding() -> None:
    facts = found(CalibrationResult.FAILED, CheckPoint(Fraction("0.180"), Fraction("0.200")))
    good = replace(world_facts().instruments["FG-11"], code="FG-12")
    story = Story(facts=replace(facts, instruments={**facts.instruments, "FG-12": good})).until("measure-lock")
    low = story.do(jaw_gap(".193", ".193", ".193"))
    assert low.rules == {320}
    assert low.credit
    assert story.bench.holds
    again = typed("jaw-gap", ".218", ".221", ".219", instrument="FG-12", state=ON_KINGPIN, **WARMTH)
    assert story.do(reading("measure-lock", [again])).rules == set()
    assert not story.bench.holds


@pytest.mark.rule(321)
def test_a_reading_that_is_conditional_with_the_error_keeps_its_credit_and_is_shown() -> None:
    story = Story(facts=found(CalibrationResult.ADJUSTED, *THIN)).until("measure-lock")
    gap = story.do(jaw_gap(".193", ".193", ".193"))
    assert gap.credit
    assert gap.rules == {321}
    assert "truly 0.187 in: conditional" in gap.what(321)


@pytest.mark.rule(321)
def test_a_gauge_found_bad_without_a_figure_puts_every_reading_up_for_review() -> None:
    story = Story(facts=found(CalibrationResult.FAILED)).until("measure-lock")
    gap = story.do(jaw_gap(".218", ".221", ".219"))
    assert gap.credit
    assert "not known" in gap.what(321)


@pytest.mark.rule(321)
def test_a_gauge_found_good_later_puts_nothing_in_doubt() -> None:
    story = Story(facts=found(CalibrationResult.IN_TOLERANCE)).until("measure-lock")
    assert story.do(jaw_gap(".193", ".193", ".193")).rules == set()


@pytest.mark.rule(321)
def test_a_reading_taken_after_the_gauge_was_adjusted_is_not_doubted() -> None:
    facts = found(CalibrationResult.ADJUSTED, *THIN)
    story = Story(facts=facts, now=START + timedelta(days=44)).until("measure-lock")
    assert story.do(jaw_gap(".193", ".193", ".193")).rules == set()


@pytest.mark.rule(320)
def test_a_bore_is_not_moved_by_an_offset_of_its_gauge_but_by_the_spread_of_its_errors() -> None:
    offset = CheckPoint(Fraction("1.400"), Fraction("1.500"))
    story = Story(facts=found(CalibrationResult.FAILED, offset, code="BG-02")).through("inspect-casting")
    assert not story.bench.holds
    spread = (CheckPoint(Fraction("1.000"), Fraction("1.000")), CheckPoint(Fraction("2.030"), Fraction("2.000")))
    story = Story(facts=found(CalibrationResult.FAILED, *spread, code="BG-02")).through("inspect-casting")
    assert [hold.rule for hold in story.bench.holds.values()] == [320]  # 0.008 may truly be 0.038
