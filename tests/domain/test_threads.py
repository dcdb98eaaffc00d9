from fractions import Fraction
from math import pi, sqrt

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.irrationals import PI, ROOT_3, cosine, root_above, root_below
from inspections.domain.threads import (
    ThreadSystem,
    ThreadUnreadableError,
    parse_thread,
    tensile_stress_area,
)

F = Fraction
REGISTRY = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("text", "diameter", "pitch", "series"),
    [
        ("3/4-10", F(3, 4), F(1, 10), "UNC"),
        ("5/8-11", F(5, 8), F(1, 11), "UNC"),
        ("1/2-13 UNC", F(1, 2), F(1, 13), "UNC"),
        ('1/2"-20 UNF-2A', F(1, 2), F(1, 20), "UNF"),
        ("1-8", F(1), F(1, 8), "UNC"),
        ("1 1/4-7", F(5, 4), F(1, 7), "UNC"),
        ("1-1/4-7", F(5, 4), F(1, 7), "UNC"),
        ("0.750-16", F(3, 4), F(1, 16), "UNF"),
        ("1-14 UNS", F(1), F(1, 14), "UNS"),
        ("1-14", F(1), F(1, 14), None),
        ("15/64-20", F(15, 64), F(1, 20), None),
        ("#10-24", F(19, 100), F(1, 24), "UNC"),
        ("No. 10-32", F(19, 100), F(1, 32), "UNF"),
        ("M16", F(16), F(2), "coarse"),
        ("m20x2.5", F(20), F(5, 2), "coarse"),
        ("M10 × 1,25", F(10), F(5, 4), None),
        ("M12x1.75-6g", F(12), F(7, 4), "coarse"),
    ],
)
def test_a_designation_is_read_as_people_write_it(text, diameter, pitch, series):
    thread = parse_thread(text)
    assert (thread.diameter, thread.pitch, thread.series) == (diameter, pitch, series)


def test_a_left_handed_thread_says_so():
    assert parse_thread("3/4-10 LH").left_handed
    assert parse_thread("M20x2.5-LH").left_handed
    assert not parse_thread("3/4-10").left_handed


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "write it like"),
        ("x" * 500, "500 characters"),
        ("3/4", "write it like"),
        ("¾-10", "write it like"),
        ("M١٦", "write it like"),
        ("NaN-10", "write it like"),
        ("3/0-10", "denominators"),
        ("1/3-10", "denominators"),
        ("3/4-0", "no unified thread"),
        ("3/4-99", "no unified thread"),
        ("10-32", '"#10-32"'),
        ("4-40", '"#4-40"'),
        ("2-56", '"#2-56"'),
        ("1/2-13 UNF", "20 threads to the inch"),
        ("3/4-16 UNC", "10 threads to the inch"),
        ("M16x0", "no metric thread"),
        ("M16x5", "no metric thread"),
        ("M17", "needs its pitch"),
        ("M0x0", "no metric thread"),
    ],
)
def test_what_names_no_thread_is_refused_with_a_reason(text, word):
    with pytest.raises(ThreadUnreadableError, match=word):
        parse_thread(text)


@given(st.text(max_size=40))
def test_any_text_is_a_thread_or_a_clear_refusal(text):
    try:
        thread = parse_thread(text)
    except ThreadUnreadableError as refusal:
        assert str(refusal)  # noqa: PT017
    else:
        assert 0 < tensile_stress_area(thread) < thread.diameter**2


# ASME B1.1, tensile stress areas as tabulated (SAE J429 prints the same).
@pytest.mark.parametrize(
    ("text", "area", "places"),
    [
        ("1/2-13", ".1419", 4),
        ("1/2-20", ".1599", 3),  # printed .1599, computed .15995: tables cut or round
        ("5/8-11", ".226", 3),
        ("5/8-18", ".256", 3),
        ("3/4-10", ".334", 3),
        ("3/4-16", ".373", 3),
        ("7/8-9", ".462", 3),
        ("1-8", ".606", 3),
        ("1-12", ".663", 3),
        ("#10-24", ".0175", 4),
        ("#10-32", ".0200", 4),
    ],
)
def test_the_stress_area_of_unified_threads_is_the_table_value(text, area, places):
    assert round(tensile_stress_area(parse_thread(text)), places) == round(Fraction(area), places)


# ISO 898-1, nominal stress areas as tabulated.
@pytest.mark.parametrize(
    ("text", "area"), [("M10", "58.0"), ("M12", "84.3"), ("M16", "157"), ("M20", "245"), ("M24", "353")]
)
def test_the_stress_area_of_metric_threads_is_the_table_value(text, area):
    places = len(area.partition(".")[2])
    assert round(tensile_stress_area(parse_thread(text)), places) == Fraction(area)


@pytest.mark.parametrize("text", ["1/4-20", "3/4-10", "1-8", "1 1/2-6", "M8", "M16", "M36"])
def test_the_stress_area_agrees_with_floating_point_arithmetic_and_pint(text):
    thread, registry = parse_thread(text), REGISTRY
    unit = registry.inch if thread.system is ThreadSystem.UNIFIED else registry.mm
    constant = 0.9743 if thread.system is ThreadSystem.UNIFIED else 0.9382
    quarter = 0.7854 if thread.system is ThreadSystem.UNIFIED else pi / 4
    mean = (float(thread.diameter) - constant * float(thread.pitch)) * unit
    area = (quarter * mean**2).to(unit**2).magnitude
    assert float(tensile_stress_area(thread)) == pytest.approx(area, rel=1e-12)


def test_the_pitch_diameter_of_three_quarter_sixteen_is_the_published_one():
    # ASME B1.1: basic pitch diameter of 3/4-16 UNF, 0.7094 in.
    assert round(parse_thread("3/4-16").pitch_diameter, 4) == Fraction("0.7094")


@given(st.fractions(min_value=0, max_value=10**9))
def test_a_root_lies_between_its_bounds(value):
    low, high = root_below(value), root_above(value)
    assert low * low <= value <= high * high
    assert high - low <= Fraction(1, 10**30)


def test_a_negative_number_has_no_root():
    with pytest.raises(ValueError, match="nonnegative"):
        root_below(Fraction(-1))


@given(st.fractions(min_value=0, max_value=180))
def test_the_cosine_agrees_with_floating_point(degrees):
    from math import cos, radians

    assert float(cosine(degrees)) == pytest.approx(cos(radians(degrees)), abs=1e-14)


def test_constants_are_below_their_true_values_by_less_than_stated():
    assert float(PI) == pi
    assert ROOT_3**2 < 3 < (ROOT_3 + Fraction(1, 10**35)) ** 2
    # pi lies between Machin's partial sums: 16 atan(1/5) - 4 atan(1/239)
    machin = 16 * _atan_of_reciprocal(5) - 4 * _atan_of_reciprocal(239)
    assert 0 < machin - PI < Fraction(1, 10**35)
    assert float(ROOT_3) == sqrt(3)


def _atan_of_reciprocal(whole):
    return sum(Fraction((-1) ** n, (2 * n + 1) * whole ** (2 * n + 1)) for n in range(40))


@pytest.mark.parametrize("degrees", [Fraction(-1), Fraction(181)])
def test_an_angle_off_the_half_circle_has_no_cosine_here(degrees):
    with pytest.raises(ValueError, match="between 0 and 180"):
        cosine(degrees)
