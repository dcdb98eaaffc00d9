"""Reading what people type."""

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from inspections.domain.quantities import QuantityError, parse_quantity
from inspections.domain.units import UNITS

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
    ("text", "word"),
    [
        ("1\u20131/2", "hyphen"),
        ("\u22120.5", "minus"),
        ("1\u00a01/2", "plain space"),
        ("3\u204416", "plain slash"),
        ("\uff11\uff12", "plain digits"),
        ("1\u00bd", "plain slash"),
    ],
)
def test_what_a_telephone_makes_of_a_dash_a_space_or_a_fraction_is_named(text, word):
    with pytest.raises(QuantityError) as error:
        parse_quantity(text, "in")
    assert error.value.code == "unreadable"
    assert word in error.value.cure


@pytest.mark.parametrize("text", ['3/16"', "3/16\u2033", "3/16\u201d", "3/16\u201c", "3/16\u2032\u2032", "3/16''"])
def test_whatever_stands_for_an_inch_behind_a_number_is_read_as_inches(text):
    assert parse_quantity(text, "in").value == F(3, 16)


@pytest.mark.parametrize(("text", "unit"), [("-459.68", "degF"), ("-273.16", "degC"), ("-0.1", "K")])
def test_nothing_is_colder_than_absolute_zero(text, unit):  # SI brochure, 2.3.1
    with pytest.raises(QuantityError, match="absolute zero"):
        parse_quantity(text, unit)
    assert parse_quantity("-459.67", "degF").to("K") == 0
    assert parse_quantity("-900", "delta_degF").value == -900  # a difference has no zero to be below
