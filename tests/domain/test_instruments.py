from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.instruments import (
    Calibration,
    CalibrationResult,
    CheckPoint,
    InstrumentFacts,
    InstrumentKind,
    InstrumentStatus,
    Withdrawal,
    calibration_in_force,
    found_bad_after,
    instrument_state,
    last_good_check,
)

F = Fraction
JANUARY = datetime(2026, 1, 12, 9, tzinfo=UTC)
JULY = datetime(2026, 7, 12, 9, tzinfo=UTC)
MARCH = datetime(2026, 3, 10, 15, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
GOOD = Calibration(JANUARY, JULY, CalibrationResult.IN_TOLERANCE)
FEELER = (InstrumentKind.FEELER_SET,)


def feeler(*calibrations, withdrawals=()):
    return InstrumentFacts(
        code="FG-07",
        kind=InstrumentKind.FEELER_SET,
        low=F("0.0015"),
        high=F("0.300"),
        unit="in",
        resolution=F("0.001"),
        uncertainty=F("0.0102"),
        calibrations=calibrations,
        withdrawals=withdrawals,
    )


def wrench():
    return InstrumentFacts("TW-05", InstrumentKind.TORQUE_WRENCH, F(0), F(250), "lbf.ft", F(1), F(10), (GOOD,))


def state(instrument, at=MARCH, kinds=FEELER, value=None):
    return instrument_state(instrument, at, kinds, value)


def test_an_instrument_in_date_is_trusted():
    found = state(feeler(GOOD), value=F("0.231"))
    assert (found.status, found.trusted, found.findings) == (InstrumentStatus.IN_DATE, True, ())
    assert found.code == "instrument_in_date"


def test_it_is_in_date_on_the_due_moment_and_overdue_after():
    assert state(feeler(GOOD), JULY).status is InstrumentStatus.IN_DATE
    overdue = state(feeler(GOOD), JULY + MINUTE)
    assert overdue.status is InstrumentStatus.OVERDUE
    assert overdue.code == "instrument_overdue"
    assert "FG-07" in overdue.message
    assert "in date" in overdue.cure


def test_a_calibration_done_afterwards_does_not_cure_the_use_before():
    later = Calibration(JULY + timedelta(days=9), JULY + timedelta(days=190), CalibrationResult.IN_TOLERANCE)
    assert state(feeler(GOOD, later), JULY + MINUTE).status is InstrumentStatus.OVERDUE
    assert state(feeler(GOOD, later), JULY + timedelta(days=9)).status is InstrumentStatus.IN_DATE


def test_an_instrument_not_calibrated_by_then_is_not_trusted():
    assert state(feeler()).status is InstrumentStatus.NEVER_CALIBRATED
    assert state(feeler(GOOD), JANUARY - MINUTE).status is InstrumentStatus.NEVER_CALIBRATED
    assert state(feeler(GOOD), JANUARY).status is InstrumentStatus.IN_DATE


def test_an_instrument_that_failed_its_calibration_is_suspect_until_a_good_one():
    failed = Calibration(MARCH, JULY, CalibrationResult.FAILED)
    repaired = Calibration(MARCH + timedelta(days=5), JULY, CalibrationResult.ADJUSTED)
    instrument = feeler(GOOD, failed, repaired)
    assert state(instrument, MARCH - MINUTE).status is InstrumentStatus.IN_DATE
    assert state(instrument, MARCH).status is InstrumentStatus.SUSPECT
    assert state(instrument, MARCH + timedelta(days=5)).status is InstrumentStatus.IN_DATE


def test_a_withdrawn_instrument_is_suspect_until_it_is_put_back():
    dropped = Withdrawal(MARCH, "dropped on the floor", MARCH + timedelta(days=2))
    instrument = feeler(GOOD, withdrawals=(dropped,))
    assert state(instrument, MARCH - MINUTE).status is InstrumentStatus.IN_DATE
    assert state(instrument, MARCH).status is InstrumentStatus.SUSPECT
    assert "dropped on the floor" in state(instrument, MARCH).message
    assert state(instrument, MARCH + timedelta(days=2)).status is InstrumentStatus.IN_DATE


def test_the_wrong_kind_is_named_with_the_right_one():
    found = state(feeler(GOOD), kinds=("bore_gauge", "caliper"))
    assert found.status is InstrumentStatus.WRONG_KIND
    assert "is a feeler set; this is read with a bore gauge or caliper" in found.message


def test_no_stated_kind_means_any_kind():
    assert state(feeler(GOOD), kinds=()).trusted


@pytest.mark.parametrize(("value", "inside"), [("0.0015", True), ("0.300", True), ("0.301", False), ("0.001", False)])
def test_the_range_ends_belong_to_the_range(value, inside):
    found = state(feeler(GOOD), value=F(value))
    assert (found.status is InstrumentStatus.IN_DATE) is inside
    assert inside or found.status is InstrumentStatus.OUT_OF_RANGE


@pytest.mark.parametrize(("value", "inside"), [(49, False), (50, True), (250, True), (251, False)])
def test_a_torque_wrench_works_from_a_fifth_of_its_scale(value, inside):
    assert instrument_state(wrench(), MARCH, ("torque_wrench",), F(value)).trusted is inside


def test_all_that_is_wrong_is_listed_at_once_gravest_first():
    found = state(feeler(GOOD, withdrawals=(Withdrawal(MARCH, "bent"),)), JULY + MINUTE, ("dial",), F(5))
    assert [finding.status for finding in found.findings] == [
        InstrumentStatus.SUSPECT,
        InstrumentStatus.OVERDUE,
        InstrumentStatus.WRONG_KIND,
        InstrumentStatus.OUT_OF_RANGE,
    ]
    assert found.status is InstrumentStatus.SUSPECT
    assert all(finding.code and finding.message and finding.cure for finding in found.findings)


def test_a_time_without_its_offset_is_refused():
    with pytest.raises(ValueError, match="offset"):
        state(feeler(GOOD), datetime(2026, 3, 10))  # noqa: DTZ001


def test_the_bias_is_what_must_be_added_to_a_recorded_value():
    thin_blade = CheckPoint(reference=F("0.094"), indicated=F("0.100"))
    assert (thin_blade.error, thin_blade.bias) == (F("0.006"), F("-0.006"))


@given(st.fractions(), st.fractions())
def test_a_recorded_value_and_its_bias_give_the_reference(reference, indicated):
    assert indicated + CheckPoint(reference, indicated).bias == reference


def test_the_last_good_check_and_the_next_bad_one_are_found():
    bad = Calibration(MARCH, JULY, CalibrationResult.ADJUSTED)
    instrument = feeler(bad, GOOD)  # rows in any order
    assert last_good_check(instrument, MARCH) == GOOD
    assert last_good_check(instrument, JANUARY) is None
    assert last_good_check(instrument, MARCH + MINUTE) == bad  # it was left good
    assert found_bad_after(instrument, JANUARY) == bad
    assert found_bad_after(instrument, MARCH) is None
    assert found_bad_after(feeler(GOOD), JANUARY - MINUTE) is None


@given(st.lists(st.integers(0, 400), max_size=6), st.integers(0, 400))
def test_the_calibration_in_force_is_the_latest_by_then(days, at):
    rows = [Calibration(JANUARY + timedelta(days=d), JULY, CalibrationResult.IN_TOLERANCE) for d in days]
    found = calibration_in_force(feeler(*rows), JANUARY + timedelta(days=at))
    by_then = [d for d in days if d <= at]
    assert (found is None) is (not by_then)
    assert found is None or found.performed_at == JANUARY + timedelta(days=max(by_then))


def test_of_two_calibrations_at_one_time_the_one_recorded_later_counts():
    failed = Calibration(JANUARY, JULY, CalibrationResult.FAILED)
    assert state(feeler(GOOD, failed)).status is InstrumentStatus.SUSPECT
    assert state(feeler(failed, GOOD)).status is InstrumentStatus.IN_DATE
