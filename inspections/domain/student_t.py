"""Student's t: its distribution for whole degrees of freedom, in decimal arithmetic of 40 digits.

Source of the finite series: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3, 26.7.4. With
s = t / sqrt(v + t^2) and c2 = v / (v + t^2), the probability A that |T| < t is
    v even: A = s (1 + 1/2 c2 + 1*3/(2*4) c2^2 + ... up to c2^((v-2)/2))
    v odd:  A = 2/pi (atan(t/sqrt v) + s c (1 + 2/3 c2 + 2*4/(3*5) c2^2 + ... up to c2^((v-3)/2)))
Quantiles are found by halving and rounded up at 1e-12, so that a bound made from one is never too small.
"""

from decimal import Decimal, localcontext
from fractions import Fraction
from functools import lru_cache

from inspections.domain.irrationals import PI

MOST_DEGREES = 1000
_DIGITS = 40
_STEP = Decimal("1e-12")
_HALVINGS = 80


def t_probability(t: Decimal, degrees: int) -> Decimal:
    """The probability that T is below `t` (one-sided), for 1 to 1000 degrees of freedom."""
    _check_degrees(degrees)
    with localcontext() as context:
        context.prec = _DIGITS
        inside = _inside(abs(t), degrees)
        return +((1 + inside) / 2 if t >= 0 else (1 - inside) / 2)


@lru_cache(maxsize=256)
def t_quantile(confidence: Fraction, degrees: int) -> Fraction:
    """The t that T stays below with `confidence` (one-sided), from 1/2 to 0.9999, rounded up at 1e-12.

    Raises ValueError for a confidence or degrees of freedom outside what is stated.
    """
    if not Fraction(1, 2) <= confidence <= Fraction("0.9999"):
        raise ValueError("a one-sided confidence is from 0.5 to 0.9999")
    _check_degrees(degrees)
    with localcontext() as context:
        context.prec = _DIGITS
        wanted = Decimal(confidence.numerator) / confidence.denominator
        low, high = Decimal(0), Decimal(4000)  # t is 3183.1 for one degree of freedom at 0.9999
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if t_probability(middle, degrees) < wanted else (low, middle)
        return Fraction(high.quantize(_STEP, rounding="ROUND_CEILING"))


def _check_degrees(degrees: int) -> None:
    if not 1 <= degrees <= MOST_DEGREES:
        raise ValueError(f"degrees of freedom are from 1 to {MOST_DEGREES}")


def _inside(t: Decimal, degrees: int) -> Decimal:
    """The probability that |T| < t, for t not negative."""
    whole = degrees + t * t
    sine, cosine_squared = t / whole.sqrt(), degrees / whole
    if degrees % 2 == 0:
        return sine * _series(cosine_squared, range(1, degrees - 1, 2))
    angle = _arctangent(t / Decimal(degrees).sqrt())
    if degrees > 1:
        angle += sine * cosine_squared.sqrt() * _series(cosine_squared, range(2, degrees - 2, 2))
    return angle * 2 * PI.denominator / PI.numerator


def _series(cosine_squared: Decimal, steps: range) -> Decimal:
    """1 + n/(n+1) c2 + n (n+2)/((n+1)(n+3)) c2^2 + ..., one factor for each n in `steps`."""
    term = total = Decimal(1)
    for step in steps:
        term *= cosine_squared * step / (step + 1)
        total += term
    return total


def _arctangent(value: Decimal) -> Decimal:
    """Halve the angle four times, atan x = 2 atan(x / (1 + sqrt(1 + x^2))), then the power series."""
    for _ in range(4):
        value /= 1 + (1 + value * value).sqrt()
    term, total, square = value, value, value * value
    for odd in range(3, 60, 2):
        term *= -square
        total += term / odd
    return total * 16
