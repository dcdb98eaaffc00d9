"""Says values in the reader's unit, with the digits the gauge deserves.

Numbers are rounded for display only, to two digits of the gauge's U (GUM, JCGM 100:2008, 7.2.6), else to the usual
digits of the unit; but never so far that a value seems to lie on a limit, or on an end of a guard band, or beyond one
when it does not. A value that lies on one is shown as that one is.
"""

from fractions import Fraction
from math import ceil

from inspections.domain.characteristic import Characteristic
from inspections.domain.quantities import QuantityError, inch_fraction, required_unit, shown_number
from inspections.domain.tolerance import verdict_ends
from inspections.domain.units import converted

_FINE = {
    "in": Fraction(1, 1000),
    "mm": Fraction(1, 100),
    "thou": Fraction(1),
    "um": Fraction(1),
    "cm": Fraction(1, 1000),
    "m": Fraction(1, 100_000),
    "ft": Fraction(1, 10_000),
    "kN": Fraction(1, 1000),
    "turn": Fraction(1, 1000),
    "mi": Fraction(1),
    "km": Fraction(1),
    "1": Fraction(1),
}
_FINEST = Fraction(1, 10**6)
_LAST = _FINEST / 1000


def reader_unit(characteristic: Characteristic, wanted: str | None) -> str:
    """`wanted`, if it measures what the characteristic does; else the characteristic's own unit."""
    if wanted is None:
        return characteristic.unit
    own = required_unit(characteristic.unit)
    return wanted if required_unit(wanted).dimension == own.dimension else characteristic.unit


class Reader:
    """Says the values of one characteristic in the reader's unit."""

    def __init__(self, characteristic: Characteristic, unit: str, uncertainty: Fraction | None) -> None:
        """`unit` is the reader's, `uncertainty` the gauge's U in the characteristic's.

        QuantityError `unit_unknown`, or `wrong_dimension` for a unit that does not measure the same thing.
        """
        self.source = required_unit(characteristic.unit)
        self.target = required_unit(unit)
        if self.target.dimension != self.source.dimension:
            raise QuantityError(
                "wrong_dimension",
                f"{self.target.symbol} is no unit of {self.source.dimension}.",
                f"Choose a unit such as {self.source.symbol}.",
            )
        self.ends = verdict_ends(characteristic.limits, characteristic.rule, uncertainty)
        self.resolution = self._resolution(uncertainty)

    def says(self, value: Fraction) -> str:
        """A value, such as `0.219 in` or `0.1875 in (3/16)`."""
        text, part = self._named(self.number(value)), self.fraction(value)
        return f"{text} ({part})" if part else text

    def number(self, value: Fraction) -> str:
        """A value without its unit."""
        if value in self.ends:
            return self.limit(value)
        number = converted(value, self.source, self.target)
        return shown_number(number, self._fine_enough(value, number))

    def fraction(self, value: Fraction) -> str | None:
        """`3/16` for an inch reader, if the value is one exactly."""
        return inch_fraction(converted(value, self.source, self.target)) if self.target.symbol == "in" else None

    def limit(self, value: Fraction) -> str:
        """A limit without its unit, in full up to six places."""
        number = converted(value, self.source, self.target)
        return shown_number(number, self._whole(number))

    def length(self, distance: Fraction, beside: Fraction | None = None) -> str:
        """A difference of two values without its unit: only the scale counts, not the zero.

        With the digits that it takes to see whether it is more or less than `beside`.
        """
        scale = self.source.factor / self.target.factor
        number, step = distance * scale, self._whole(distance * scale)
        while (
            beside is not None
            and step > _LAST
            and _order(_rounded(number, step), beside * scale) != _order(distance, beside)
        ):
            step /= 10
        return shown_number(number, step)

    def uncertainty(self, expanded: Fraction) -> str:
        """An uncertainty or a guard band without its unit: as a length, but never rounded down."""
        number = expanded * self.source.factor / self.target.factor
        step = self._whole(number)
        return shown_number(ceil(number / step) * step, step)

    def says_uncertainty(self, expanded: Fraction) -> str:
        return self._named(self.uncertainty(expanded))

    def says_limit(self, value: Fraction) -> str:
        return self._named(self.limit(value))

    def says_length(self, distance: Fraction, beside: Fraction | None = None) -> str:
        return self._named(self.length(distance, beside))

    def _named(self, number: str) -> str:
        return number if self.target.symbol == "1" else f"{number} {self.target.symbol}"

    def _whole(self, number: Fraction) -> Fraction:
        """At least the usual digits, and more if the number is exact with up to six places."""
        step = self.resolution
        while step > _FINEST and (number / step).denominator != 1:
            step /= 10
        return step if (number / step).denominator == 1 else self.resolution / 10

    def _fine_enough(self, value: Fraction, number: Fraction) -> Fraction:
        step = self.resolution
        while step > _LAST and not self._on_its_side(value, number, step):
            step /= 10
        return step

    def _on_its_side(self, value: Fraction, number: Fraction, step: Fraction) -> bool:
        """Whether the rounded number still compares with each end as the exact value does."""
        rounded = _rounded(number, step)
        return all(_order(value, end) == _order(rounded, converted(end, self.source, self.target)) for end in self.ends)

    def _resolution(self, uncertainty: Fraction | None) -> Fraction:
        fine = _FINE.get(self.target.symbol, Fraction(1, 10))
        if not uncertainty:
            return fine
        scaled, step = abs(uncertainty * self.source.factor / self.target.factor), Fraction(1)
        while step > _FINEST and scaled < 10 * step:
            step /= 10
        return step


def _rounded(number: Fraction, step: Fraction) -> Fraction:
    return round(number / step) * step


def _order(a: Fraction, b: Fraction) -> int:
    return (a > b) - (a < b)
