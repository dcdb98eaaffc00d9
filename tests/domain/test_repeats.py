"""Repeat readings."""

import statistics
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inspections.domain.repeats import allowed_spread, critical_range, median, spread

F = Fraction
readings = st.lists(st.fractions(max_denominator=1000), min_size=1, max_size=15)


def test_the_median_of_three_is_the_middle_one_and_of_two_their_mean():
    assert median([F("0.218"), F("0.221"), F("0.219")]) == F("0.219")
    assert median([F("0.218"), F("0.221")]) == F("0.2195")
    with pytest.raises(ValueError, match="median"):
        median([])


@given(readings)
def test_the_median_agrees_with_the_standard_library(values):
    assert median(values) == statistics.median(values)


@given(readings, st.fractions(min_value=0))
def test_one_slip_of_the_hand_among_three_agreeing_readings_does_not_move_the_median(values, slip):
    low = min(values)
    assert median([low, low, low + slip]) == low


@given(readings, st.fractions(max_denominator=100))
def test_spread_does_not_depend_on_where_zero_is(values, shift):
    assert spread([v + shift for v in values]) == spread(values)


@pytest.mark.parametrize("count", [*range(2, 21), 100])
def test_critical_ranges_are_the_95_per_cent_points_of_the_range(count):
    # ISO 5725-6:1994, table 1 (from memory), one decimal
    exact = stats.studentized_range.ppf(0.95, count, 1e6)
    assert float(critical_range(count, F(1))) == pytest.approx(exact, abs=0.08)


def test_more_than_twenty_repeats_count_as_a_hundred_so_the_check_is_never_too_strict_and_one_has_no_range():
    assert critical_range(21, F(2)) == critical_range(100, F(2)) == F("12.2")
    with pytest.raises(ValueError, match="two"):
        critical_range(1, F(1))


def test_the_procedures_range_comes_before_the_gauges():
    assert allowed_spread(3, F("0.005"), F("0.0051")) == F("0.005")
    assert allowed_spread(3, F(0), F("0.0051")) == 0
    assert allowed_spread(3, None, F("0.0051")) == F("0.01683")
    assert allowed_spread(1, None, F("0.0051")) is None
    assert allowed_spread(3, None, None) is None
    assert allowed_spread(3, None, F(0)) is None
