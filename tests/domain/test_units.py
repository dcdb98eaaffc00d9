"""Units, conversions, and showing what was read."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.quantities import QuantityError, inch_fraction, parse_quantity, shown, shown_number
from inspections.domain.units import UNITS, converted, find_unit, likely_units

F = Fraction


@pytest.mark.parametrize(
    ("spelling", "symbol"),
    [
        ("in", "in"),
        ("inch", "in"),
        ('"', "in"),
        ("IN", "in"),
        ("MM", "mm"),
        ("lbf.ft", "lbf.ft"),
        ("lb-ft", "lbf.ft"),
        ("ft-lb", "lbf.ft"),
        ("FT-LB", "lbf.ft"),
        ("N.m", "N.m"),
        ("Nm", "N.m"),
        ("F", "degF"),
        ("°F", "degF"),
        ("C", "degC"),
        ("turns", "turn"),
        ("miles", "mi"),
    ],
)
def test_usual_spellings_of_a_unit_are_accepted_and_become_one(spelling, symbol):
    assert parse_quantity("1", spelling).unit == symbol


def test_a_unit_in_the_text_must_be_the_one_beside_it():
    assert parse_quantity('3/16"', "inch").value == F(3, 16)
    assert parse_quantity("74 °F", "F").value == 74
    with pytest.raises(QuantityError) as error:
        parse_quantity("4.76 mm", "in")
    assert "mm" in error.value.message
    assert "in" in error.value.message


def test_every_unit_is_found_by_its_symbol_and_no_spelling_names_two_units():
    for symbol, unit in UNITS.items():
        assert find_unit(symbol) is unit
    spellings = [s for unit in UNITS.values() for s in (unit.symbol, *unit.aliases)]
    assert len(spellings) == len(set(spellings))
    for unit in UNITS.values():
        assert all(UNITS[symbol].dimension == unit.dimension for symbol in likely_units(unit.dimension))


@pytest.mark.parametrize(
    ("text", "unit", "target", "value"),
    [
        # NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm, 1 lbf = 4.448 221 615 260 5 N exactly (from memory)
        ("1", "in", "mm", F("25.4")),
        ("3/16", "in", "mm", F("4.7625")),
        ("1", "lbf", "N", F("4.4482216152605")),
        ("1", "lbf.ft", "N.m", F("4.4482216152605") * F("0.3048")),
        ("1", "mi", "km", F("1.609344")),
        ("1", "lb", "kg", F("0.45359237")),
        ("32", "degF", "degC", F(0)),
        ("212", "degF", "degC", F(100)),
        ("-40", "degF", "degC", F(-40)),
        ("0", "K", "degF", F("-459.67")),
        ("18", "delta_degF", "delta_degC", F(10)),
        ("12", "lbf.in", "lbf.ft", F(1)),
    ],
)
def test_conversions_are_exact(text, unit, target, value):
    assert parse_quantity(text, unit).to(target) == value


_PINT = {
    "thou": "thou",
    "um": "micrometer",
    "arcmin": "arcminute",
    "N.m": "newton*meter",
    "lbf.ft": "force_pound*foot",
    "lbf.in": "force_pound*inch",
    "kgf.m": "force_kilogram*meter",
    "lbf": "force_pound",
    "kgf": "force_kilogram",
    "deg": "degree",
    "in": "inch",
    "ft": "foot",
    "mi": "mile",
    "delta_K": "kelvin",
    "K": "kelvin",
    "delta_degF": "delta_degree_Fahrenheit",
    "delta_degC": "delta_degree_Celsius",
    "degF": "degree_Fahrenheit",
    "degC": "degree_Celsius",
}


def test_every_conversion_agrees_with_another_library_of_units():
    registry = pint.UnitRegistry(non_int_type=float, autoconvert_offset_to_baseunit=True)
    compared = 0
    for source in UNITS.values():
        for target in UNITS.values():
            if source.dimension != target.dimension or source.dimension in ("turns", "count"):
                continue
            theirs = registry.Quantity(7.25, _PINT.get(source.symbol, source.symbol)).to(
                _PINT.get(target.symbol, target.symbol)
            )
            ours = converted(F("7.25"), source, target)
            assert float(ours) == pytest.approx(theirs.magnitude, rel=1e-9, abs=1e-9), (source, target)
            compared += 1
    assert compared > 80


same_dimension = st.sampled_from(sorted(UNITS)).flatmap(
    lambda s: st.tuples(st.just(s), st.sampled_from([u for u in UNITS if UNITS[u].dimension == UNITS[s].dimension]))
)


@given(st.fractions(), same_dimension)
def test_there_and_back_is_the_same_value(value, pair):
    source, target = (UNITS[symbol] for symbol in pair)
    assert converted(converted(value, source, target), target, source) == value


@given(st.fractions(), st.fractions(), same_dimension)
def test_a_conversion_keeps_the_order(a, b, pair):
    source, target = (UNITS[symbol] for symbol in pair)
    assert (a < b) == (converted(a, source, target) < converted(b, source, target))


@given(st.integers(-(10**9), 10**9).filter(bool), st.integers(0, 9))
def test_a_shown_decimal_is_read_back_the_same(digits, places):
    value = F(digits, 10**places)
    assert parse_quantity(shown_number(value, F(1, 10**9)), "in").value == value


@given(st.integers(-640, 640).filter(bool))
def test_a_shown_inch_fraction_is_read_back_the_same(count):
    value = F(count, 64)
    text = inch_fraction(value)
    if value.denominator == 1:
        assert text is None
    else:
        assert parse_quantity(text, "in").value == value


def test_an_inch_fraction_is_shown_only_where_it_is_one():
    assert inch_fraction(F(3, 16)) == "3/16"
    assert inch_fraction(F(3, 2)) == "1 1/2"
    assert inch_fraction(F(-5, 4)) == "-1 1/4"
    assert inch_fraction(F("0.1875")) == "3/16"
    assert inch_fraction(F("0.188")) is None
    assert inch_fraction(F(1, 128)) is None
    assert inch_fraction(F(1, 3)) is None


def test_numbers_are_rounded_half_to_even_for_display():
    step = F(1, 1000)
    assert shown(F("0.2185"), "in", step) == "0.218 in"
    assert shown(F("0.2195"), "in", step) == "0.220 in"
    assert shown(F("0.18"), "in", step) == "0.180 in"
    assert shown(F("-0.0004"), "in", step) == "0.000 in"
    assert shown(F(3), "1", None) == "3"
    assert shown(F(1, 3), "in", None) == "0.333333 in"
    assert shown(parse_quantity("5.6", "mm"), "in", step) == "0.220 in"
    assert shown(parse_quantity("74", "F"), "degC", F(1, 10)) == "23.3 degC"
    assert shown(F("0.2188"), "in", F(1, 64)) == "0.218750 in"
    with pytest.raises(ValueError, match="positive"):
        shown(F(1), "in", F(0))


def test_a_length_is_no_torque():
    with pytest.raises(QuantityError) as error:
        parse_quantity("1", "in").to("N.m")
    assert error.value.code == "wrong_dimension"
    with pytest.raises(ValueError, match="torque"):
        converted(F(1), UNITS["in"], UNITS["N.m"])
