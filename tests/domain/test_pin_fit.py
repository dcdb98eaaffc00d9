"""Pins in bores: clearance, where it comes from, and the tilt it allows."""

from fractions import Fraction
from math import cos, radians, sin, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.bore import bore_from_diameters
from inspections.domain.geometry_error import GeometryError
from inspections.domain.pin_fit import PinFit, pin_in_bore

F = Fraction
WORN = bore_from_diameters([0, 45, 90, 135], [F(0)], [[F("1.503"), F("1.548"), F("1.566"), F("1.531")]])


def fit(*pins: str, length: str = "3") -> PinFit:
    return pin_in_bore(WORN, [F(p) for p in pins], length=F(length), nominal_bore=F("1.500"), nominal_pin=F("1.495"))


def test_clearance_runs_from_the_tightest_to_the_loosest_pair_of_diameters():
    found = fit("1.490", "1.494")
    assert found.smallest_clearance == F("0.009")
    assert found.largest_clearance == F("0.076")
    assert found.goes_in


def test_a_pin_larger_than_the_bore_does_not_go_in():
    found = fit("1.510")
    assert found.smallest_clearance == F("-0.007")
    assert not found.goes_in


def test_clearance_and_length_give_the_tilt_and_the_movement_at_an_arm():
    found = fit("1.490")
    assert found.slope == F("0.076") / 3
    assert found.tilt_degrees == pytest.approx(1.44, abs=0.005)
    assert found.movement_at(F(6)) == found.movement_at(F(-6)) == F("0.152")


def test_a_tight_pin_does_not_tilt():
    found = fit("1.566")
    assert found.slope == 0
    assert found.tilt_degrees == 0
    assert fit("1.600").slope == 0


sizes = st.integers(1300, 1500).map(lambda n: F(n, 1000))
lengths = st.integers(1, 40).map(lambda n: F(n, 4))


@given(st.lists(sizes, min_size=1, max_size=4), lengths)
def test_the_largest_clearance_is_the_clearance_as_made_and_both_wears(pins: list[F], length: F):
    found = pin_in_bore(WORN, pins, length=length, nominal_bore=F("1.5"), nominal_pin=F("1.495"))
    assert found.largest_clearance == found.clearance_as_made + found.bore_wear + found.pin_wear
    assert found.smallest_clearance <= found.largest_clearance


@given(sizes, lengths)
def test_a_pin_at_the_shown_tilt_touches_both_edges_and_the_slope_is_never_below_it(pin: F, length: F):
    found = pin_in_bore(WORN, [pin], length=length, nominal_bore=F("1.5"), nominal_pin=F("1.495"))
    turn = radians(found.tilt_degrees)
    assert float(found.largest_bore) * cos(turn) - float(length) * sin(turn) == pytest.approx(float(pin), abs=1e-9)
    assert float(found.slope) >= tan(turn) - 1e-12


@given(sizes, lengths)
def test_a_longer_bore_holds_straighter(pin: F, length: F):
    short = pin_in_bore(WORN, [pin], length=length, nominal_bore=F("1.5"), nominal_pin=F("1.495"))
    long = pin_in_bore(WORN, [pin], length=2 * length, nominal_bore=F("1.5"), nominal_pin=F("1.495"))
    assert long.slope == short.slope / 2


@pytest.mark.parametrize(
    ("pins", "length", "code"),
    [
        ([], F(3), "no_pin"),
        ([F(0)], F(3), "not_a_size"),
        ([F(1)], F(-3), "not_a_size"),
        ([1.49], F(3), "not_exact"),
        ([F(1, 10**400)], F(3), "unreasonable_value"),
    ],
)
def test_a_pin_that_is_no_pin_is_refused_with_a_cure(pins, length, code: str):
    with pytest.raises(GeometryError) as caught:
        pin_in_bore(WORN, pins, length=length, nominal_bore=F("1.5"), nominal_pin=F("1.495"))
    assert caught.value.code == code
    assert caught.value.cure
