"""Reading what people type, and showing what was read."""

from fractions import Fraction

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from inspections.domain.quantities import QuantityError, inch_fraction, parse_quantity, shown, shown_number
from inspections.domain.units import UNITS, converted, find_unit, likely_units

F = Fraction


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("3/16", F(3, 16)),
        ("1 1/2", F(3, 2)),
        ("1-1/2", F(3, 2)),
        (".1875", F(3, 16)),
        ("0.1875", F(3, 16)),
        ("4.76", F(119, 25)),
        ("4,76", F(119, 25)),
        (",187", F(187, 1000)),
        ("0,234", F(117, 500)),
        ("0,23", F(23, 100)),
        ("1,2345", F(2469, 2000)),
        ("+.25", F(1, 4)),
        ("-.25", F(-1, 4)),
        ("-1-1/2", F(-3, 2)),
        ("-1 1/2", F(-3, 2)),
        ("5/4", F(5, 4)),
        ("63/64", F(63, 64)),
        ("  .218  ", F(109, 500)),
        ("412306", F(412306)),
        ("5.", F(5)),
        ("0", F(0)),
        ("0.000", F(0)),
        ("0/2", F(0)),
    ],
)
def test_what_people_type_is_read_exactly(text, value):
    quantity = parse_quantity(text, "in")
    assert quantity.value == value
    assert (quantity.text, quantity.unit, quantity.dimension) == (text, "in", "length")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("NaN", "unreadable"),
        ("inf", "unreadable"),
        ("1e400", "unreadable"),
        ("1e3", "unreadable"),
        ("½", "unreadable"),
        ("1½", "unreadable"),
        ("1⁄2", "unreadable"),
        ("１.５", "unreadable"),
        ("٣", "unreadable"),
        ("2/0", "unreadable"),
        ("0/0", "unreadable"),
        ("1/3", "unreadable"),
        ("1/128", "unreadable"),
        ("1 5/4", "unreadable"),
        ("1/2/4", "unreadable"),
        ("-0", "unreadable"),
        ("-0.000", "unreadable"),
        ("-0/2", "unreadable"),
        ("", "unreadable"),
        ("   ", "unreadable"),
        (".", "unreadable"),
        (",", "unreadable"),
        ("-", "unreadable"),
        ("--1", "unreadable"),
        ("1 2", "unreadable"),
        ("0x10", "unreadable"),
        ("1_000", "unreadable"),
        ("1\x002", "unreadable"),
        ("True", "unreadable"),
        ("about .2", "unreadable"),
        (".2 or so", "unreadable"),
        ("9" * 10_000, "unreadable"),
        ("1,234", "ambiguous"),
        ("412,306", "ambiguous"),
        ("1,234.5", "ambiguous"),
        ("1.234,5", "ambiguous"),
        ("1.2.3", "ambiguous"),
        ("5.6 mm", "ambiguous"),
    ],
)
def test_nonsense_gets_a_clear_answer(text, code):
    with pytest.raises(QuantityError) as error:
        parse_quantity(text, "in")
    assert error.value.code == code
    assert error.value.message
    assert error.value.cure
    assert len(error.value.message) < 200


@pytest.mark.parametrize("text", [None, True, False, 5, 0.218, [], {}, b".218"])
def test_what_is_no_text_is_refused_the_same_way(text):
    with pytest.raises(QuantityError) as error:
        parse_quantity(text, "in")
    assert error.value.code == "unreadable"


@pytest.mark.parametrize("unit", ["", "  ", None, 5])
def test_a_missing_unit_is_asked_for(unit):
    with pytest.raises(QuantityError) as error:
        parse_quantity(".218", unit)
    assert error.value.code == "unit_missing"


@pytest.mark.parametrize("unit", ["furlong", "ín", "in" * 100, "nm"])
def test_an_unknown_unit_is_named(unit):
    with pytest.raises(QuantityError) as error:
        parse_quantity(".218", unit)
    assert error.value.code == "unit_unknown"


def test_the_cure_shows_how_to_type_a_vulgar_fraction_and_plain_digits():
    with pytest.raises(QuantityError) as vulgar:
        parse_quantity("½", "in")
    with pytest.raises(QuantityError) as wide:
        parse_quantity("１２", "in")
    assert "1/2" in vulgar.value.cure
    assert "plain digits" in wide.value.cure


@given(st.text(max_size=200), st.one_of(st.sampled_from(sorted(UNITS)), st.text(max_size=20)))
@example("1 /2", "in")
@example("1/", "in")
@example("\ud800", "in")
@example("1\n", "in")
def test_no_text_raises_anything_but_a_quantity_error(text, unit):
    try:
        quantity = parse_quantity(text, unit)
    except QuantityError as error:
        code = error.code
    else:
        code = None
        assert quantity.unit in UNITS
        assert isinstance(quantity.value, Fraction)
    assert code in {None, "unreadable", "ambiguous", "unit_missing", "unit_unknown"}


@given(st.text(alphabet="0123456789.,/- +eEinm\"'", max_size=12))
def test_a_text_that_python_reads_differently_is_never_read_otherwise(text):
    try:
        value = parse_quantity(text, "in").value
    except QuantityError:
        return
    number = text.strip().removesuffix("in").removesuffix('"').removesuffix("''").strip()
    whole, _, part = number.replace(",", ".").rpartition(" ")
    if "/" not in number:
        assert value == Fraction(number.replace(",", "."))
    elif not whole and "-" not in part:
        assert value == Fraction(part)


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
    lambda s: st.tuples(
        st.just(s), st.sampled_from([u for u in UNITS if UNITS[u].dimension == UNITS[s].dimension])
    )
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
