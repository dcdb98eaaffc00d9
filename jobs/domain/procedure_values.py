"""The exact values that a procedure document writes as text; the schema has checked their patterns."""

from datetime import datetime, timedelta
from fractions import Fraction

_SPANS = {
    "s": timedelta(seconds=1),
    "min": timedelta(minutes=1),
    "h": timedelta(hours=1),
    "d": timedelta(days=1),
}
_PER_FAHRENHEIT = {"degF": Fraction(1), "degC": Fraction(9, 5), "K": Fraction(9, 5)}


def number(text: str) -> Fraction:
    """`"0.180"`, `"3/8"` or `"1 1/4"`, exactly. The sign of a mixed number is the sign of the whole."""
    whole, _, part = text.partition(" ")
    if not part:
        return Fraction(whole)
    sign = -1 if whole.startswith("-") else 1
    return Fraction(whole) + sign * Fraction(part)


def span(text: str) -> timedelta:
    """`"45 min"`, `"2 h"`, `"30 s"` or `"1 d"`."""
    count, _, unit = text.partition(" ")
    return int(count) * _SPANS[unit]


def fahrenheit_difference(text: str) -> Fraction:
    """A temperature difference in degrees Fahrenheit: `"15 degF"`, `"8 degC"` (1 K is 9/5 of a degree F)."""
    count, _, unit = text.partition(" ")
    return Fraction(count) * _PER_FAHRENHEIT[unit]


def moment(text: str) -> datetime:
    """An RFC 3339 date-time with its offset. Raises `ValueError` for a day or hour that does not exist."""
    return datetime.fromisoformat(text)
