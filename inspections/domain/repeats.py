"""Repeat readings: which one counts, and do they agree?

1. The median is judged: one slip of the hand does not move it. Of an even number, the mean of the middle two.
2. Readings that lie further apart than the procedure's range are not judged: take again.
3. Where the procedure gives no range, the gauge does: at most f(n) u, with u its standard uncertainty and
   f(n) the critical range factor, which repeats of one spread exceed once in twenty (ISO 5725-6:1994,
   4.1.4; from memory, and recomputed as the 95 % point of the range of n normal values). The gauge's whole
   u is used for the spread, so the check is lenient, never over-strict.

Example: .218 .221 .219 in with u = 0.0051 in: range 0.003, allowed 3.3 x 0.0051 = 0.0168; judged 0.219.
"""

from collections.abc import Sequence
from fractions import Fraction

# f(n) for n = 2..20, 95 %
_TENTHS = (28, 33, 36, 39, 40, 42, 43, 44, 45, 46, 46, 47, 47, 48, 48, 49, 49, 50, 50)
_CRITICAL_RANGE = tuple(Fraction(tenths, 10) for tenths in _TENTHS)
_OF_A_HUNDRED = Fraction("6.1")


def median(values: Sequence[Fraction]) -> Fraction:
    """The exact median of at least one value; ValueError for none."""
    if not values:
        raise ValueError("there is no median of nothing")
    ordered, middle = sorted(values), len(values) // 2
    if len(values) % 2:
        return ordered[middle]
    return (ordered[middle - 1] + ordered[middle]) / 2


def spread(values: Sequence[Fraction]) -> Fraction:
    """Largest less smallest; ValueError for no values."""
    return max(values) - min(values)


def critical_range(count: int, standard_uncertainty: Fraction) -> Fraction:
    """The largest spread that `count` repeats with this u may show (95 %); more than twenty count as a hundred.

    ValueError for fewer than two, since one reading has no spread.
    """
    if count < 2:  # noqa: PLR2004 - two readings make a range
        raise ValueError("a range needs two readings")
    known = count - 2 < len(_CRITICAL_RANGE)
    return (_CRITICAL_RANGE[count - 2] if known else _OF_A_HUNDRED) * standard_uncertainty


def allowed_spread(count: int, stated: Fraction | None, standard_uncertainty: Fraction | None) -> Fraction | None:
    """The procedure's range, else the gauge's; None where neither is known or there is one reading.

    A gauge said to have no uncertainty at all says nothing about spread either.
    """
    if stated is not None:
        return stated
    if not standard_uncertainty or count < 2:  # noqa: PLR2004 - as above
        return None
    return critical_range(count, standard_uncertainty)
