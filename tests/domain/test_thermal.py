"""Temperature: the bow of a plate against an exact arc, and lengths read warm."""

from fractions import Fraction
from math import cos, isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.geometry_error import GeometryError
from inspections.domain.thermal import STEEL_EXPANSION, bow_of_plate, difference_for_bow, length_at_reference

F = Fraction


def test_a_steel_plate_hotter_by_five_degrees_bows_by_fifteen_thousandths():
    assert bow_of_plate(F(5), F(32), F(1, 2)) == F("0.014976")


def test_the_bow_is_the_sagitta_of_the_arc_that_the_gradient_bends():
    difference, length, thickness = 5.0, 32.0, 0.5
    radius = thickness / (float(STEEL_EXPANSION) * difference)
    sagitta = radius * (1 - cos(length / (2 * radius)))
    assert isclose(float(bow_of_plate(F(5), F(32), F(1, 2))), sagitta, rel_tol=1e-5)


def test_a_colder_face_bows_the_other_way():
    assert bow_of_plate(F(-5), F(32), F(1, 2)) == -bow_of_plate(F(5), F(32), F(1, 2))


lengths = st.fractions(min_value=1, max_value=100, max_denominator=16)
thicknesses = st.fractions(min_value=F(1, 4), max_value=4, max_denominator=16)
differences = st.fractions(min_value=-50, max_value=50, max_denominator=9)
temperatures = st.fractions(min_value=-40, max_value=60, max_denominator=9)


@given(differences, lengths, thicknesses)
def test_the_difference_for_a_bow_undoes_the_bow_of_a_difference(difference: F, length: F, thickness: F):
    assert difference_for_bow(bow_of_plate(difference, length, thickness), length, thickness) == difference


@given(differences, lengths, thicknesses)
def test_twice_as_long_bows_four_times_and_twice_as_thick_half(difference: F, length: F, thickness: F):
    bow = bow_of_plate(difference, length, thickness)
    assert bow_of_plate(difference, 2 * length, thickness) == 4 * bow
    assert bow_of_plate(difference, length, 2 * thickness) == bow / 2


def test_a_meter_of_steel_read_ten_degrees_warm_by_a_gauge_at_twenty_is_0_117_mm_too_long():
    corrected = length_at_reference(F("1000.117"), F(30))
    assert corrected == 1000


@given(temperatures, lengths)
def test_gauge_and_part_of_one_metal_at_one_temperature_need_no_correction(temperature: F, reading: F):
    assert length_at_reference(reading, temperature, temperature) == reading


@given(lengths)
def test_at_the_reference_temperature_a_reading_is_the_length(reading: F):
    assert length_at_reference(reading, F(20)) == reading


@given(st.fractions(min_value=F(201, 10), max_value=60, max_denominator=10), lengths)
def test_a_warm_part_is_shorter_than_it_reads_and_a_warm_gauge_reads_short(temperature: F, reading: F):
    assert length_at_reference(reading, temperature) < reading
    assert length_at_reference(reading, F(20), temperature) > reading


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: bow_of_plate(F(5), F(0), F(1)), "not_a_size"),
        (lambda: bow_of_plate(F(5), F(1), F(-1)), "not_a_size"),
        (lambda: bow_of_plate(F(5000), F(1), F(1)), "implausible_temperature"),
        (lambda: bow_of_plate(5.0, F(1), F(1)), "not_exact"),
        (lambda: bow_of_plate(F(5), F(1), F(1), F(1)), "implausible_expansion"),
        (lambda: difference_for_bow(F(1), F(1), F(0)), "not_a_size"),
        (lambda: difference_for_bow(float("nan"), F(1), F(1)), "not_exact"),
        (lambda: difference_for_bow(F(1), F(1), F(1), F(0)), "implausible_expansion"),
        (lambda: length_at_reference(F(1), F(300)), "implausible_temperature"),
        (lambda: length_at_reference(F(1), F(20), F(-273)), "implausible_temperature"),
        (lambda: length_at_reference(F(1), F(20), gauge_expansion=F(-1)), "implausible_expansion"),
    ],
)
def test_nonsense_is_refused_with_a_cure(call, code: str):
    with pytest.raises(GeometryError) as caught:
        call()
    assert caught.value.code == code
    assert caught.value.cure
