"""Irrational numbers as rationals with a stated bound, so that nothing that decides is a binary float.

Bounds: `PI` and `ROOT_3` are below the true value by less than 1e-35. `root_below` and `root_above` enclose a
square root within 1e-30. `cosine` is exact where the cosine is rational and within 1e-30 elsewhere.
"""

from fractions import Fraction
from math import isqrt

PI = Fraction("3.14159265358979323846264338327950288")
ROOT_3 = Fraction("1.73205080756887729352744634150587236")

_SCALE = 10**30
_EXACT_COSINES = {
    0: Fraction(1),
    60: Fraction(1, 2),
    90: Fraction(0),
    120: Fraction(-1, 2),
    180: Fraction(-1),
}
_TAYLOR_TERMS = 24  # pi**48 / 48! is below 1e-36


def root_below(value: Fraction) -> Fraction:
    """The square root of `value`, rounded down by less than 1e-30; exact for squares of short decimals.

    Raises ValueError for a negative value.
    """
    return Fraction(isqrt(value.numerator * _SCALE**2 // value.denominator), _SCALE)


def root_above(value: Fraction) -> Fraction:
    """The square root of `value`, rounded up by at most 1e-30; exact where `root_below` is exact."""
    below = root_below(value)
    return below if below * below == value else below + Fraction(1, _SCALE)


def cosine(degrees: Fraction) -> Fraction:
    """The cosine of an angle of 0 to 180 degrees, exact at 0, 60, 90, 120 and 180, else within 1e-30.

    Source: the Taylor series of the cosine. Raises ValueError outside 0 to 180.
    """
    if not 0 <= degrees <= 180:  # noqa: PLR2004  half a circle
        raise ValueError(f"an angle of {degrees} degrees is not between 0 and 180")
    if degrees in _EXACT_COSINES:
        return _EXACT_COSINES[int(degrees)]
    square = (PI * degrees / 180) ** 2
    term = total = Fraction(1)
    for step in range(1, _TAYLOR_TERMS):
        term *= -square / ((2 * step - 1) * (2 * step))
        total += term
    return Fraction(round(total * _SCALE), _SCALE)
