from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from inspections.domain.adjustment import (
    Direction,
    TakeUpScrew,
    check_play,
    instruction,
    setting_of,
    turns_for,
)
from inspections.domain.threads import parse_thread

F = Fraction
SCREW = TakeUpScrew(parse_thread("3/4-10"), taper=F(10))
turns = st.fractions(min_value=0, max_value=10)


def test_the_demo_screw_back_one_and_a_quarter_turns():
    setting = setting_of(SCREW, F(5, 4))
    assert (setting.travel, setting.clearance) == (F(1, 8), F(1, 80))
    assert (round(setting.low, 4), round(setting.high, 4)) == (F("0.0117"), F("0.0133"))


# Travel is turns over threads to the inch: arithmetic, in inches and millimetres.
@pytest.mark.parametrize(
    ("size", "count", "inches", "millimetres"),
    [
        ("1/2-13", F(5, 4), "0.096154", "2.4423"),
        ("5/8-11", F(5, 4), "0.113636", "2.8864"),
        ("3/4-10", F(1, 2), "0.050000", "1.2700"),
        ("3/4-16", F(1), "0.062500", "1.5875"),
        ("1-8", F(5, 4), "0.156250", "3.9688"),
    ],
)
def test_travel_is_turns_times_pitch(size, count, inches, millimetres):
    travel = setting_of(TakeUpScrew(parse_thread(size)), count).travel
    assert round(travel, 6) == F(inches)
    assert round(travel * F("25.4"), 4) == F(millimetres)


def test_two_starts_travel_twice_as_far():
    double = TakeUpScrew(parse_thread("3/4-10"), starts=2)
    assert setting_of(double, F(1)).travel == F(1, 5)


def test_without_a_taper_the_travel_is_the_clearance():
    setting = setting_of(TakeUpScrew(parse_thread("M20x2.5")), F(1, 2))
    assert (setting.travel, setting.clearance, setting.unit) == (F(5, 4), F(5, 4), "mm")


def test_backlash_can_only_take_clearance_away():
    loose = TakeUpScrew(parse_thread("3/4-10"), taper=F(10), backlash=F("0.010"))
    tight, slack = setting_of(SCREW, F(5, 4)), setting_of(loose, F(5, 4))
    assert slack.low == tight.low - F("0.001")
    assert (slack.clearance, slack.high) == (tight.clearance, tight.high)


def test_the_range_agrees_with_the_uncertainties_package():
    clearance = ufloat(1.25, 1 / 12) * 0.1 / 10
    setting = setting_of(SCREW, F(5, 4))
    assert float(setting.high - setting.clearance) == pytest.approx(clearance.std_dev)
    assert float(setting.clearance) == pytest.approx(clearance.nominal_value)


@given(turns)
def test_turns_and_clearance_undo_each_other_exactly(count):
    setting = setting_of(SCREW, count)
    assert turns_for(SCREW, setting.clearance) == count
    assert 0 <= setting.low <= setting.clearance <= setting.high


@given(turns, turns)
def test_more_turns_never_give_less_clearance(one, other):
    fewer, more = sorted((one, other))
    assert setting_of(SCREW, fewer).low <= setting_of(SCREW, more).low
    assert setting_of(SCREW, fewer).high <= setting_of(SCREW, more).high


def test_play_that_belongs_to_half_a_turn_contradicts_one_and_a_quarter():
    check = check_play(SCREW, F(5, 4), F("0.004"), F("0.002"))
    assert not check.agrees
    assert check.turns == F(2, 5)
    assert "0.0117 in to 0.0133 in" in check.message
    assert "0.4 turns" in check.message


def test_play_agrees_when_the_ranges_just_touch():
    high = setting_of(SCREW, F(5, 4)).high
    assert check_play(SCREW, F(5, 4), high + F("0.001"), F("0.001")).agrees
    assert not check_play(SCREW, F(5, 4), high + F("0.0011"), F("0.001")).agrees


@given(turns, st.fractions(min_value=0, max_value=F(1, 100)))
def test_the_play_that_turns_should_give_always_agrees(count, uncertainty):
    assert check_play(SCREW, count, setting_of(SCREW, count).clearance, uncertainty).agrees


# Common practice, no source: a screw turned tight and back one and a half turns, that is six quarter turns.
def test_one_and_a_half_turns_back_are_six_quarter_turns():
    words = instruction(SCREW, F(3, 2), Direction.BACK_FROM_CONTACT)
    assert "turn it back (anticlockwise) 1 1/2 turns, that is 6 quarter turns" in words


def test_the_direction_is_said_and_follows_the_hand_of_the_thread():
    left = TakeUpScrew(parse_thread("3/4-10 LH"), taper=F(10))
    assert "back (clockwise)" in instruction(left, F(1), Direction.BACK_FROM_CONTACT)
    inwards = instruction(SCREW, F(1, 3), Direction.IN_FROM_CONTACT)
    assert "further in (clockwise) 1/3 turn." in inwards
    assert "no clearance" in inwards


@pytest.mark.parametrize(
    "screw",
    [
        TakeUpScrew(SCREW.thread, starts=0),
        TakeUpScrew(SCREW.thread, taper=F(0)),
        TakeUpScrew(SCREW.thread, backlash=F(-1)),
        TakeUpScrew(SCREW.thread, turn_uncertainty=F(-1)),
    ],
)
def test_an_impossible_screw_is_refused(screw):
    with pytest.raises(ValueError):
        setting_of(screw, F(1))


def test_turns_are_never_negative_nor_is_a_clearance():
    with pytest.raises(ValueError, match="direction in words"):
        setting_of(SCREW, F(-1))
    with pytest.raises(ValueError, match="not negative"):
        turns_for(SCREW, F(-1))
