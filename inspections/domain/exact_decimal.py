"""An exact value as decimal text, whole: what the register keeps, so that nothing is lost to rounding."""

from fractions import Fraction


def exact_decimal(value: Fraction) -> str:
    """`value` as a terminating decimal without trailing zeros: 3/16 is `0.1875`.

    Raises ValueError where the expansion does not end; what people type as decimals or as fractions with a
    power of two below always does.
    """
    places = _places(value.denominator)
    digits = str(abs(value.numerator) * (10**places // value.denominator)).rjust(places + 1, "0")
    sign = "-" if value < 0 else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def _places(denominator: int) -> int:
    twos, rest = _count(denominator, 2)
    fives, rest = _count(rest, 5)
    if rest != 1:
        raise ValueError("this value has no finite decimal expansion")
    return max(twos, fives)


def _count(number: int, prime: int) -> tuple[int, int]:
    """How often `prime` divides `number`, and what is left."""
    times = 0
    while number % prime == 0:
        number //= prime
        times += 1
    return times, number
