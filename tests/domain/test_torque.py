from fractions import Fraction
from math import cos, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.torque import (
    Extension,
    LeverError,
    applied_torque,
    joint_constant,
    load_of_turn,
    setting_for,
    travel_of_turn,
    turn_for_load,
    working_range,
    wrench_question,
)

F = Fraction
lengths = st.fractions(min_value=1, max_value=50)
angles = st.fractions(min_value=0, max_value=90)


def test_tm_9_254_figure_4_5_sixty_inch_pounds_become_seventy():
    assert applied_torque(F(60), Extension(F(12), F(2))) == 70


def test_a_published_example_thirty_with_twelve_and_six_is_set_to_twenty():
    # Published worked example of extension correction: L 12 in, E 6 in, wanted 30 lbf.ft.
    assert setting_for(F(30), Extension(F(12), F(6))) == 20


def test_a_published_example_fifty_with_sixteen_and_two_is_set_to_forty_four():
    # Published worked example: L 16 in, E 2 in, wanted 50 lbf.ft, set 44.44.
    assert round(setting_for(F(50), Extension(F(16), F(2))), 2) == F("44.44")


def test_an_extension_at_a_right_angle_changes_nothing():
    assert setting_for(F(120), Extension(F(18), F(5), F(90))) == 120


def test_an_extension_folded_back_takes_its_length_away():
    # Y = T L / (L - E)
    assert setting_for(F(100), Extension(F(20), F(4), F(180))) == F(100 * 20, 16)


@given(lengths, lengths, angles)
def test_an_angled_extension_agrees_with_floating_point(wrench, length, angle):
    ratio = 1 + float(length) * cos(radians(angle)) / float(wrench)
    assert float(Extension(wrench, length, angle).ratio) == pytest.approx(ratio, rel=1e-12)


@given(st.fractions(min_value=1, max_value=600), lengths, lengths, angles)
def test_setting_and_applying_undo_each_other_exactly(target, wrench, length, angle):
    extension = Extension(wrench, length, angle)
    assert applied_torque(setting_for(target, extension), extension) == target


@given(lengths, lengths, angles, angles)
def test_the_more_an_extension_is_bent_the_less_it_adds(wrench, length, one, other):
    straighter, bent = sorted((one, other))
    assert Extension(wrench, length, straighter).ratio >= Extension(wrench, length, bent).ratio


@pytest.mark.parametrize("extension", [Extension(F(0), F(2)), Extension(F(12), F(-1)), Extension(F(12), F(12), F(180))])
def test_a_lever_that_cannot_turn_anything_is_refused(extension):
    with pytest.raises(LeverError):
        setting_for(F(100), extension)


def test_an_angle_beyond_folded_back_is_refused():
    with pytest.raises(ValueError, match="between 0 and 180"):
        setting_for(F(100), Extension(F(12), F(2), F(270)))


def test_a_wrench_works_from_a_fifth_of_its_scale_to_all_of_it():
    assert working_range(F(250)) == (50, 250)
    assert wrench_question(F(50), F(250), "lbf.ft") is None
    assert wrench_question(F(250), F(250), "lbf.ft") is None


@pytest.mark.parametrize(("setting", "cure"), [("49.9", "smaller"), ("250.1", "larger")])
def test_a_setting_off_the_working_range_says_which_wrench_to_take(setting, cure):
    words = wrench_question(F(setting), F(250), "lbf.ft")
    assert words is not None
    assert f"take a {cure} wrench" in words
    assert "50 lbf.ft to 250 lbf.ft" in words


def test_a_scale_that_ends_at_zero_is_refused():
    with pytest.raises(ValueError, match="above zero"):
        working_range(F(0))


# Shigley, 9th edition, example 8-3: kb 6.50, km 13.8 Mlbf/in, P 6 kip, Fi 25 kip, At 0.373 in2.
BOLT, MEMBERS = F(6_500_000), F(13_800_000)


def test_the_joint_constant_of_shigleys_example_8_3():
    constant = joint_constant(BOLT, MEMBERS)
    assert round(constant, 3) == F("0.320")
    assert round((round(constant, 3) * 6 + 25) / F("0.373"), 2) == F("72.17")


def test_an_angle_past_snug_gives_the_load_of_springs_in_series():
    angle = turn_for_load(F(25_000), F(1, 16), BOLT, MEMBERS)
    stretch = F(25_000) / BOLT + F(25_000) / MEMBERS
    assert travel_of_turn(angle, F(1, 16)) == stretch
    assert load_of_turn(angle, F(1, 16), BOLT, MEMBERS) == 25_000
    assert 32 < angle < 33
