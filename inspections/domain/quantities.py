"""What people type, read exactly; and how an exact value is shown.

A number is a decimal (`.1875`, `0.1875`, `4.76`, `4,76`) or a fraction or mixed number with denominator 2, 4,
8, 16, 32 or 64 (`3/16`, `1 1/2`, `1-1/2`), with an optional sign, in ASCII digits. Its unit stands beside it.
A unit in the text too must be the same one. A comma before exactly three digits could be a thousands mark or
a decimal comma, so it is asked about, not guessed. Nothing is ever read through a binary float.

Example: `parse_quantity("3/16", "in").to("mm") == Fraction("4.7625")`.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.units import UNITS, Unit, converted, find_unit
from shops.domain.curable_error import CurableError

LONGEST_TEXT = 64  # characters; more is not a reading
QUOTED_TEXT = 24  # characters of it that a message repeats
DENOMINATORS = frozenset({2, 4, 8, 16, 32, 64})

_FRACTION = re.compile(r"([+-]?)(?:(\d+)(?: +|-))?(\d+)/(\d+)", re.ASCII)
_DECIMAL = re.compile(r"([+-]?)(\d*)(?:([.,])(\d*))?", re.ASCII)
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}", re.ASCII)
_VULGAR = re.compile("[¼½¾⅐-⅞⁄]")
_DASH = re.compile("[\u2010-\u2015\u2212\ufe58\ufe63\uff0d]")
_SPACE = re.compile(r"[^\S ]")


class QuantityError(CurableError, ValueError):
    """A text or unit that cannot be read as a quantity.

    `code` is one of unreadable, ambiguous, unit_missing, unit_unknown, wrong_dimension; `message` says what
    is wrong, `cure` what to type instead.
    """


@dataclass(frozen=True, slots=True)
class Quantity:
    """A reading: the text as typed, its canonical unit, the dimension, and the exact value in that unit."""

    text: str
    unit: str
    dimension: str
    value: Fraction

    def to(self, unit: str) -> Fraction:
        """The exact value in another unit of the same dimension; QuantityError otherwise."""
        if unit == self.unit:
            return self.value
        target = required_unit(unit)
        if target.dimension != self.dimension:
            raise QuantityError(
                "wrong_dimension",
                f"{self.unit} is a unit of {_words(self.dimension)}, {target.symbol} of {_words(target.dimension)}.",
                f"Give it in a unit of {_words(target.dimension)}, such as {target.symbol}.",
            )
        return converted(self.value, UNITS[self.unit], target)


def parse_quantity(text: str, unit: str) -> Quantity:
    """Read `text` in `unit`; QuantityError, and nothing else, for whatever is not a plain reading."""
    typed = _typed_text(text)
    found = required_unit(unit)
    value, rest = read_number(typed)
    if rest:
        _check_suffix(typed, rest, found)
    if found.dimension == "temperature" and value * found.factor + found.offset < 0:
        message = f"{quoted(typed)} {found.symbol} is below absolute zero."
        raise QuantityError("unreadable", message, "Read the thermometer again, and check the unit.")
    return Quantity(text, found.symbol, found.dimension, value)


def required_unit(unit: str) -> Unit:
    """The unit of this spelling; QuantityError `unit_missing` or `unit_unknown`."""
    spelling = _string(unit)
    if spelling is None or not spelling.strip():
        raise QuantityError("unit_missing", "The unit is missing.", "State the unit beside the number.")
    found = find_unit(spelling) if len(spelling) <= LONGEST_TEXT else None
    if found is None:
        raise QuantityError(
            "unit_unknown",
            f"{quoted(spelling)} is not a unit known here.",
            "Use one such as in, mm, lbf.ft, N.m or degF.",
        )
    return found


def read_number(typed: str) -> tuple[Fraction, str]:
    """The exact number at the start of `typed`, and what follows it, stripped."""
    match = _FRACTION.match(typed)
    if match:
        value = _fraction_value(typed, match)
    else:
        match = _DECIMAL.match(typed)
        value = _decimal_value(typed, match) if match else _unreadable(typed)
    if not value and match and match[1] == "-":
        raise QuantityError(
            "unreadable", f"{quoted(typed)}: zero has no sign.", "Type 0, or the reading with its sign."
        )
    return value, typed[match.end() :].strip() if match else ""


def number_alone(text: str) -> str:
    """`text` without the unit that may follow its number; as it is where it is no number."""
    typed = text.strip()
    try:
        rest = read_number(typed)[1]
    except QuantityError:
        return typed
    return typed.removesuffix(rest).strip() if rest else typed


def quoted(text: str) -> str:
    """`text` in quotation marks, cut and escaped, fit for a message."""
    short = text if len(text) <= QUOTED_TEXT else text[:QUOTED_TEXT] + "..."
    return '"' + "".join(c if c.isprintable() else "?" for c in short) + '"'


def _words(dimension: str) -> str:
    return dimension.replace("_", " ")


def _string(raw: object) -> str | None:
    return raw if isinstance(raw, str) else None


def _typed_text(raw: object) -> str:
    if not isinstance(raw, str):
        raise QuantityError("unreadable", "A reading is a text, as typed.", 'Send the text, such as ".218".')
    if len(raw) > LONGEST_TEXT:
        raise QuantityError("unreadable", f"{quoted(raw)} is too long for a reading.", "Type one number.")
    typed = raw.strip()
    if not typed:
        raise QuantityError("unreadable", "Nothing was typed.", "Type the reading.")
    return typed


def _fraction_value(typed: str, match: re.Match[str]) -> Fraction:
    whole, over, under = int(match[2] or 0), int(match[3]), int(match[4])
    if under not in DENOMINATORS:
        raise QuantityError(
            "unreadable",
            f"{quoted(typed)}: a fraction is in halves, quarters, 8ths, 16ths, 32nds or 64ths.",
            "Type the decimal.",
        )
    if match[2] and over >= under:
        raise QuantityError("unreadable", f"{quoted(typed)} is not a mixed number.", "Type it like 1 1/2.")
    value = Fraction(whole * under + over, under)
    return -value if match[1] == "-" else value


def _decimal_value(typed: str, match: re.Match[str]) -> Fraction:
    before, after = match[2], match[4] or ""
    if not before and not after:
        _unreadable(typed)
    rest = typed[match.end() :]
    if match[3] and rest[:1] in (".", ","):
        raise QuantityError(
            "ambiguous",
            f"{quoted(typed)} has more than one point or comma.",
            "Type it with one decimal point.",
        )
    if match[3] == "," and _THOUSANDS.fullmatch(before + "," + after):
        raise QuantityError(
            "ambiguous",
            f"{quoted(typed)}: {before}{after}, or {before}.{after}?",
            f"Type {before}{after} or {before}.{after}, with a point and no comma.",
        )
    value = Fraction(int(before + after), 10 ** len(after)) if after else Fraction(int(before))
    return -value if match[1] == "-" else value


def _unreadable(typed: str) -> Fraction:
    cure = "Type one number, such as .218, 4.76 or 3/16."
    if _VULGAR.search(typed):
        cure = "Type the fraction with a plain slash, such as 1/2."
    elif any(c.isdigit() and not c.isascii() for c in typed):
        cure = "Type plain digits, 0 to 9."
    if _DASH.search(typed):
        cure = "Type the plain minus or hyphen of the keyboard, such as -0.5 or 1-1/2."
    elif _SPACE.search(typed):
        cure = "Type a plain space between the whole number and the fraction, such as 1 1/2."
    raise QuantityError("unreadable", f"{quoted(typed)} is not a number.", cure)


def _check_suffix(typed: str, rest: str, unit: Unit) -> None:
    """What follows the number must be the stated unit."""
    suffix = find_unit(rest)
    if suffix is None:
        _unreadable(typed)
    elif suffix.symbol != unit.symbol:
        raise QuantityError(
            "ambiguous",
            f"{quoted(typed)} says {suffix.symbol}, the unit beside it says {unit.symbol}.",
            f"Type the number alone and choose {suffix.symbol} or {unit.symbol}.",
        )


def shown(quantity: Quantity | Fraction, unit: str, resolution: Fraction | None) -> str:
    """The value in `unit`, with the unit, rounded half-even to a multiple of `resolution` (in `unit`).

    For display only. A Quantity is converted, a bare Fraction is already in `unit`. Without a resolution an
    exact decimal of up to six places is shown whole, anything else to six places.
    """
    value = quantity.to(unit) if isinstance(quantity, Quantity) else quantity
    number = shown_number(value, resolution)
    return number if unit == "1" else f"{number} {unit}"


def shown_number(value: Fraction, resolution: Fraction | None) -> str:
    """As `shown`, without the unit. ValueError for a resolution that is not positive."""
    if resolution is None:
        places = min(_places(value), 6)
        return _decimal_text(value, places)
    if resolution <= 0:
        raise ValueError("a resolution is positive")
    steps = round(value / resolution)  # Fraction rounds half to even
    return _decimal_text(steps * resolution, min(_places(resolution), 9))


def inch_fraction(value: Fraction) -> str | None:
    """`value` as people of the inch write it, `3/16` or `1 1/2`, if it is an exact 64th and not whole."""
    if value.denominator not in DENOMINATORS:
        return None
    sign = "-" if value < 0 else ""
    whole, over = divmod(abs(value.numerator), value.denominator)
    part = f"{over}/{value.denominator}"
    return f"{sign}{whole} {part}" if whole else sign + part


def _places(value: Fraction) -> int:
    """Decimal places of the exact expansion; 99 where it does not end."""
    rest, places = value.denominator, 0
    for prime in (2, 5):
        count = 0
        while rest % prime == 0:
            rest //= prime
            count += 1
        places = max(places, count)
    return places if rest == 1 else 99


def _decimal_text(value: Fraction, places: int) -> str:
    scaled = round(value * 10**places)
    sign = "-" if scaled < 0 else ""
    digits = str(abs(scaled)).rjust(places + 1, "0")
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else sign + digits
