"""How likely is it that the true value conforms? For display; nothing is decided by it.

A normal distribution about the measured value, standard deviation u, the measurement dominating what is known
before (JCGM 106:2012, 7.2 to 7.4). Floats are allowed here because these numbers are only shown.
"""

import math
from fractions import Fraction

from inspections.domain.characteristic import Limits

_FAR = 40  # standard deviations; beyond it the normal tail is below any float


def normal_cdf(z: float) -> float:
    """Phi(z) of the standard normal distribution; erfc keeps the far tails accurate."""
    return 0.5 * math.erfc(-z / math.sqrt(2))


def normal_density(z: float) -> float:
    """phi(z) of the standard normal distribution."""
    return math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def conformity(value: Fraction, limits: Limits, standard_uncertainty: Fraction) -> float:
    """p_c = Phi((T_U - y) / u) - Phi((T_L - y) / u), one or two-sided; all three arguments in one unit.

    With u = 0 the value is certain and p_c is 0 or 1. ValueError for a negative u.
    """
    if standard_uncertainty < 0:
        raise ValueError("a standard uncertainty is not negative")
    if standard_uncertainty == 0:
        return 1.0 if inside(value, limits) else 0.0
    below = _tail(limits.lower, value, standard_uncertainty, -1)
    above = _tail(limits.upper, value, standard_uncertainty, 1)
    return max(0.0, 1.0 - below - above)


def inside(value: Fraction, limits: Limits) -> bool:
    """Whether `value` lies in the tolerance interval, exactly, its ends counted as the limits say."""
    low, high = limits.lower, limits.upper
    over_low = low is None or value > low or (value == low and limits.lower_inclusive)
    under_high = high is None or value < high or (value == high and limits.upper_inclusive)
    return over_low and under_high


def _tail(limit: Fraction | None, value: Fraction, u: Fraction, sign: int) -> float:
    """The probability of lying beyond `limit`, on its outer side."""
    if limit is None:
        return 0.0
    z = sign * (limit - value) / u
    return normal_cdf(-float(max(-_FAR, min(_FAR, z))))
