from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.next_inspection import InspectionInterval, InspectionReason, next_inspection

F = Fraction
RELEASED, ODOMETER = date(2026, 3, 2), F(412_306)
USUAL = InspectionInterval(days=90, distance=F(25_000))


def test_without_a_pace_both_are_named_whichever_comes_first():
    due = next_inspection(RELEASED, ODOMETER, USUAL)
    assert (due.by_day, due.by_distance) == (date(2026, 5, 31), F(437_306))
    assert due.reason is None
    assert due.expected_on is None
    assert "by 2026-05-31 (calendar) or by 437306 mi on the odometer (distance), whichever comes first" in due.message


def test_at_four_hundred_miles_a_day_distance_is_the_reason():
    due = next_inspection(RELEASED, ODOMETER, USUAL, daily_distance=F(400))
    assert (due.expected_on, due.reason) == (date(2026, 5, 3), InspectionReason.DISTANCE)


def test_at_a_hundred_miles_a_day_the_calendar_is_the_reason():
    due = next_inspection(RELEASED, ODOMETER, USUAL, daily_distance=F(100))
    assert (due.expected_on, due.reason) == (date(2026, 5, 31), InspectionReason.CALENDAR)


def test_on_the_same_day_the_calendar_is_the_reason():
    due = next_inspection(RELEASED, ODOMETER, USUAL, daily_distance=F(25_000, 90))
    assert (due.expected_on, due.reason) == (date(2026, 5, 31), InspectionReason.CALENDAR)


def test_wear_is_the_reason_when_it_is_nearer_than_the_distance():
    due = next_inspection(RELEASED, ODOMETER, USUAL, wear_left=F(9000), daily_distance=F(400))
    assert (due.by_distance, due.reason) == (F(421_306), InspectionReason.WEAR)
    assert due.expected_on == date(2026, 3, 24)
    assert "wear comes first" in due.message


def test_wear_further_than_the_interval_does_not_stretch_it():
    due = next_inspection(RELEASED, ODOMETER, USUAL, wear_left=F(90_000))
    assert (due.by_distance, due.distance_reason) == (F(437_306), InspectionReason.DISTANCE)


def test_a_dolly_without_odometer_has_a_distance_but_no_reading():
    due = next_inspection(RELEASED, None, USUAL)
    assert due.by_distance is None
    assert "within 25000 mi (distance)" in due.message
    assert not due.is_due(date(2026, 5, 30), None)
    assert due.is_due(date(2026, 5, 31), None)


def test_one_kind_alone_is_its_own_reason():
    calendar = next_inspection(RELEASED, ODOMETER, InspectionInterval(90, None))
    distance = next_inspection(RELEASED, ODOMETER, InspectionInterval(None, F(25_000), "km"))
    assert (calendar.reason, calendar.expected_on) == (InspectionReason.CALENDAR, date(2026, 5, 31))
    assert (distance.reason, distance.expected_on) == (InspectionReason.DISTANCE, None)
    assert distance.message == "Next inspection by 437306 km on the odometer (distance)."


def test_it_is_due_on_the_day_or_at_the_reading():
    due = next_inspection(RELEASED, ODOMETER, USUAL)
    assert not due.is_due(date(2026, 5, 30), F(437_305))
    assert due.is_due(date(2026, 5, 30), F(437_306))
    assert due.is_due(date(2026, 5, 31), None)


@given(
    st.integers(0, 400),
    st.integers(0, 60_000),
    st.none() | st.integers(0, 60_000),
    st.integers(1, 900),
)
def test_the_next_inspection_is_the_earliest_of_all(days, distance, wear, pace):
    left = None if wear is None else F(wear)
    due = next_inspection(
        RELEASED, ODOMETER, InspectionInterval(days, F(distance)), wear_left=left, daily_distance=F(pace)
    )
    by_hand = [days, distance // pace] + ([] if wear is None else [wear // pace])
    assert due.expected_on == RELEASED + timedelta(days=min(by_hand))
    assert due.reason is not None


def test_a_pace_too_slow_to_ever_get_there_leaves_the_calendar():
    due = next_inspection(RELEASED, ODOMETER, USUAL, daily_distance=F(1, 10**9))
    assert due.reason is InspectionReason.CALENDAR


@pytest.mark.parametrize(
    ("interval", "more", "word"),
    [
        (InspectionInterval(None, None), {}, "no next inspection"),
        (InspectionInterval(-1, None), {}, "not negative"),
        (InspectionInterval(10**9, None), {}, "at most"),
        (InspectionInterval(90, F(-1)), {}, "not negative"),
        (USUAL, {"wear_left": F(-1)}, "not negative"),
        (USUAL, {"daily_distance": F(0)}, "above zero"),
    ],
)
def test_nonsense_is_refused(interval, more, word):
    with pytest.raises(ValueError, match=word):
        next_inspection(RELEASED, ODOMETER, interval, **more)
