"""How likely is it that the true value conforms? For display; nothing is decided by it.

A normal distribution about the measured value, standard deviation u, the measurement dominating what is known
before (JCGM 106:2012, 7.2 to 7.4). Floats are allowed here because these numbers are only shown. The
quantiles of the normal and of Student's distribution are here too, for risks and coverage factors.
"""

import math
from collections.abc import Callable
from fractions import Fraction

from inspections.domain.characteristic import Limits

_FAR = 40  # standard deviations; beyond it the normal tail is below any float


def normal_cdf(z: float) -> float:
    """Phi(z) of the standard normal distribution; erfc keeps the far tails accurate."""
    return 0.5 * math.erfc(-z / math.sqrt(2))


def normal_density(z: float) -> float:
    """phi(z) of the standard normal distribution."""
    return math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def normal_quantile(probability: float) -> float:
    """The z with Phi(z) = probability, by bisection to the last bits.

    ValueError unless 0 < probability < 1.
    """
    if not 0 < probability < 1:
        raise ValueError("a probability lies between 0 and 1")
    if probability > 0.5:  # noqa: PLR2004 - the lower tail is the accurate one
        return -normal_quantile(1 - probability)
    return _root_of_rising(lambda z: normal_cdf(z) - probability, -_FAR, 0.0)


def student_cdf(t: float, degrees: float) -> float:
    """P(T <= t) of Student's distribution (Abramowitz and Stegun, 26.7.1; from memory)."""
    tail = 0.5 * _incomplete_beta(degrees / 2, 0.5, degrees / (degrees + t * t))
    return 1 - tail if t > 0 else tail


def student_coverage(confidence: float, degrees: int) -> float:
    """The k with P(-k < T < k) = confidence for this many degrees of freedom (GUM, JCGM 100:2008, table G.2).

    ValueError for no degrees of freedom or a confidence outside 0 to 1.
    """
    if degrees < 1 or not 0 < confidence < 1:
        raise ValueError("a coverage factor needs a degree of freedom and a confidence between 0 and 1")
    return _root_of_rising(lambda t: student_cdf(t, degrees) - (1 + confidence) / 2, 0.0, 1e9)


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
    return normal_cdf(-float(max(Fraction(-_FAR), min(Fraction(_FAR), z))))


def _root_of_rising(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero: bisection until the interval cannot be halved."""
    while low < (middle := (low + high) / 2) < high:
        if function(middle) < 0:
            low = middle
        else:
            high = middle
    return middle


def _incomplete_beta(a: float, b: float, x: float) -> float:
    """The regularised incomplete beta function I_x(a, b)."""
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    if x > (a + 1) / (a + b + 2):
        return 1 - _incomplete_beta(b, a, 1 - x)
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    return math.exp(log_front) * _beta_fraction(a, b, x) / a


def _beta_fraction(a: float, b: float, x: float) -> float:
    """1 / (1 + d1 / (1 + d2 / (1 + ...))) of I_x(a, b), from the far end (Abramowitz and Stegun, 26.5.8)."""
    value = 1.0
    for step in range(200 + 5 * math.isqrt(int(a + b)), 0, -1):
        m, odd = divmod(step, 2)
        if odd:
            term = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            term = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        value = 1 + term / value
    return 1 / value
