"""Bores: elongation, direction, wear and taper from diameters, and what diameters cannot tell."""

from fractions import Fraction
from math import cos, pi, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.bore import Bore, bore_from_diameters
from inspections.domain.bore_shape import bore_shapes
from inspections.domain.geometry_error import GeometryError
from inspections.domain.roundness import least_squares_circle, minimum_zone_circle

F = Fraction
ANGLES = [0, 45, 90, 135]


def bore(*rows: str) -> Bore:
    return bore_from_diameters(ANGLES, [F(k) for k in range(len(rows))], [list(map(F, r.split())) for r in rows])


def test_a_worn_bore_is_elongated_by_largest_less_smallest_diameter():
    found = bore("1.503 1.548 1.566 1.531")
    assert found.elongation == F("0.063")
    assert found.direction == 90
    assert found.wear(F("1.500")) == F("0.066")


def test_elongation_is_taken_at_one_depth_and_never_across_depths():
    found = bore("1.500 1.501 1.502 1.501", "1.510 1.511 1.512 1.515")
    assert found.elongations == (F("0.002"), F("0.005"))
    assert found.elongation == F("0.005")
    assert found.worst_depth == 1
    assert found.direction == 135


def test_taper_is_taken_at_one_angle_and_never_across_angles():
    found = bore("1.500 1.530 1.500 1.500", "1.504 1.531 1.507 1.500")
    assert found.tapers == (F("0.004"), F("0.001"), F("0.007"), F("0"))
    assert found.taper == F("0.007")


def test_one_depth_shows_no_taper():
    assert bore("1.5 1.5 1.5 1.5").taper is None


def test_a_round_bore_has_no_direction():
    assert bore("1.5 1.5 1.5 1.5").direction is None


def test_a_bore_below_nominal_has_negative_wear():
    assert bore("1.5 1.5 1.5 1.5").wear(F("1.502")) == F("-0.002")


def test_an_angle_and_its_opposite_are_one_diameter():
    found = bore_from_diameters([0, 225, 90, 315], [F(0)], [[F("1.503"), F("1.548"), F("1.566"), F("1.531")]])
    assert found.angles == (0, 45, 90, 135)


# --- properties ---------------------------------------------------------------------------------------

sizes = st.integers(1400, 1600).map(lambda n: F(n, 1000))
bores = st.lists(st.lists(sizes, min_size=4, max_size=4), min_size=2, max_size=3)


def of(rows) -> Bore:
    return bore_from_diameters(ANGLES, [F(k) for k in range(len(rows))], rows)


@given(bores, st.integers(1, 3))
def test_turning_the_gauge_turns_the_direction_and_nothing_else(rows, turn: int):
    before = of(rows)
    after = of([row[turn:] + row[:turn] for row in rows])
    assert (after.elongation, after.taper, after.largest) == (before.elongation, before.taper, before.largest)


@given(bores, st.integers(-50, 50).map(lambda n: F(n, 1000)))
def test_reaming_a_bore_evenly_changes_wear_but_not_elongation(rows, more: F):
    before, after = of(rows), of([[d + more for d in row] for row in rows])
    assert (after.elongation, after.taper) == (before.elongation, before.taper)
    assert after.wear(F("1.5")) == before.wear(F("1.5")) + more


@given(bores, st.fractions(min_value=F(1, 10), max_value=30, max_denominator=10))
def test_a_bore_in_another_unit_has_the_same_elongation_in_that_unit(rows, scale: F):
    assert of([[d * scale for d in row] for row in rows]).elongation == scale * of(rows).elongation


@given(bores)
def test_elongation_never_exceeds_the_spread_of_all_diameters(rows):
    found = of(rows)
    assert 0 <= found.elongation <= found.largest - found.smallest
    assert found.largest - found.smallest <= found.elongation + found.taper


# --- shape: for display ----------------------------------------------------------------------------------


def points(angles, diameters):
    out = []
    for angle, diameter in zip(angles, diameters, strict=True):
        x, y = (F(round(float(diameter) / 2 * f(radians(angle)) * 10**12), 10**12) for f in (cos, sin))
        out += [(x, y), (-x, -y)]
    return out


@given(st.lists(sizes, min_size=4, max_size=4))
def test_roundness_from_diameters_is_half_the_elongation_by_either_circle(row):
    (shape,) = bore_shapes(of([row]))
    fitted = least_squares_circle(points(ANGLES, row))
    zone = minimum_zone_circle(points(ANGLES, row))
    assert float(shape.least_squares_roundness) == pytest.approx(fitted.roundness, abs=1e-9)
    assert float(shape.minimum_zone_roundness) == pytest.approx(zone.roundness, abs=1e-9)


@pytest.mark.parametrize("axis", [0, 10, 22.5, 45, 80, 100, 170])
def test_the_fitted_oval_finds_an_axis_between_the_measured_angles(axis: float):
    row = [F(1.5 + 0.015 * cos(2 * radians(a - axis))).limit_denominator(10**12) for a in ANGLES]
    (shape,) = bore_shapes(of([row]))
    assert shape.oval is not None
    assert shape.oval.elongation == pytest.approx(0.030, abs=1e-9)
    assert shape.oval.direction == pytest.approx(axis, abs=1e-6)
    assert shape.oval.mean == pytest.approx(1.5, abs=1e-9)


def test_an_oval_midway_between_four_angles_shows_only_seven_tenths_of_its_elongation():
    row = [F(1.5 + 0.015 * cos(2 * radians(a - 22.5))).limit_denominator(10**12) for a in ANGLES]
    assert float(of([row]).elongation) == pytest.approx(0.030 / 2**0.5, abs=1e-9)


def test_three_lobes_do_not_show_in_diameters():
    row = []
    for angle in ANGLES:
        near, far = (0.75 + 0.02 * cos(3 * t) for t in (radians(angle), radians(angle) + pi))
        row.append(F(near + far).limit_denominator(10**9))
    assert of([row]).elongation == 0
    assert "odd" in bore_shapes(of([row]))[0].note


def test_two_angles_are_too_few_for_roundness_and_it_says_so():
    (shape,) = bore_shapes(bore_from_diameters([0, 90], [F(0)], [[F("1.5"), F("1.51")]]))
    assert shape.least_squares_roundness is None
    assert shape.minimum_zone_roundness is None
    assert shape.oval is None
    assert shape.note.startswith("too few points: 2 angles")


# --- nonsense ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("angles", "depths", "rows", "code"),
    [
        ([], [F(0)], [[]], "too_few_angles"),
        ([0], [F(0)], [[F(1)]], "too_few_angles"),
        ([0, 90], [], [], "no_depth"),
        ([0, 180], [F(0)], [[F(1), F(1)]], "repeated_angle"),
        ([0, 90], [F(0), F(0)], [[F(1), F(1)]] * 2, "repeated_depth"),
        ([0, 90], [F(0), F(1)], [[F(1), F(1)]], "missing_diameter"),
        ([0, 90], [F(0), F(1)], [[F(1), F(1)], [F(1)]], "missing_diameter"),
        ([0, 90], [F(0)], [[F(1), F(0)]], "not_a_size"),
        ([0, 90], [F(0)], [[F(1), F(-1)]], "not_a_size"),
        ([0, 90], [F(0)], [[F(1), 1.5]], "not_exact"),
        ([0, 90], [F(0)], [[F(1), float("nan")]], "not_exact"),
        ([0, 0.5], [F(0)], [[F(1), F(1)]], "not_exact"),
        ([0, 90], [F(0)], [[F(1), F(10) ** 400]], "unreasonable_value"),
        (range(180), [F(k) for k in range(60)], [], "too_many_points"),
    ],
)
def test_an_incomplete_or_senseless_bore_is_refused_with_a_cure(angles, depths, rows, code: str):
    with pytest.raises(GeometryError) as caught:
        bore_from_diameters(angles, depths, rows)
    assert caught.value.code == code
    assert caught.value.cure


def test_a_missing_diameter_says_at_which_depth():
    with pytest.raises(GeometryError, match="At depth 3/4 there are 3 diameters for 4 angles"):
        bore_from_diameters(ANGLES, [F(3, 4)], [[F(1)] * 3])


def test_a_nominal_that_is_no_size_is_refused():
    with pytest.raises(GeometryError) as caught:
        bore("1.5 1.5 1.5 1.5").wear(F(0))
    assert caught.value.code == "not_a_size"
