"""A gauge found bad: heights in contact, a gauge left bad and mended later, a count."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

from inspections.domain.characteristic import DecisionRule, Limits, Method, RuleKind
from inspections.domain.found_bad import FoundBad, Outcome, UsedReading, found_bad_of
from inspections.domain.instruments import Calibration, CalibrationResult, CheckPoint
from tests.domain.test_found_bad import BAD, ELONGATION, ERROR, FG_07, FOUND, GAP, only, reading

F = Fraction
FLATNESS = replace(ELONGATION, method=Method.FLATNESS_GRID, limits=Limits(None, F("0.060")), title="Flatness")


def test_an_offset_does_not_cancel_among_heights_of_which_some_are_in_contact():
    # Blades 0.006 in thicker than marked: gaps of 0.055 are 0.061, and where the edge touches there is no gap still.
    thick = FoundBad("FG-07", "in", (CheckPoint(reference=F("0.206"), indicated=F("0.200")),), None, None)
    used = replace(reading(".055", characteristic=FLATNESS), in_contact=True)
    assert (only(thick, used).outcome, only(thick, used).corrected) == (Outcome.SUSPEND, F("0.061"))
    assert only(thick, replace(used, in_contact=False)).outcome is Outcome.CLEAR


def test_a_check_that_left_the_gauge_bad_doubts_readings_until_one_that_left_it_good():
    mended = Calibration(FOUND + timedelta(days=9), FOUND + timedelta(days=99), CalibrationResult.ADJUSTED)
    gauge = replace(FG_07, calibrations=(*FG_07.calibrations, mended))
    found = found_bad_of(gauge, BAD)
    assert found.until == mended.performed_at
    assert found.covers(FOUND + timedelta(days=8))
    assert not found.covers(FOUND + timedelta(days=10))
    assert ERROR.until is None


def test_a_count_is_listed_for_review_and_not_shifted():
    count = replace(GAP, dimension="count", unit="1", method=Method.COUNT, rule=DecisionRule(RuleKind.SIMPLE))
    used = UsedReading("e", "j", replace(count, limits=Limits(F(19), F(19))), F(19), None, FOUND, None)
    assert (only(ERROR, used).outcome, only(ERROR, used).corrected) == (Outcome.REVIEW, None)
