"""Why a set of points cannot be judged: one error for flatness, bores, circles and straightedges."""

from collections.abc import Iterable
from fractions import Fraction

from shops.domain.curable_error import CurableError

MOST_DIGITS = 30  # of a numerator or denominator: far beyond any instrument, small enough to stay quick


class GeometryError(CurableError, ValueError):
    """The points cannot answer the question.

    `code` is stable and meant for machines, `message` says what is wrong and `cure` what to do about it.
    """


def require_exact(values: Iterable[object], what: str) -> None:
    """Raise `not_exact` or `unreasonable_value` unless every value is an exact number of sane length."""
    bound = 10**MOST_DIGITS
    for value in values:
        if isinstance(value, bool) or not isinstance(value, int | Fraction):
            raise GeometryError(
                "not_exact",
                f"{what} holds {value!r}, which is not an exact number",
                "Give every value as read from the instrument, with its unit.",
            )
        if abs(value.numerator) >= bound or value.denominator >= bound:
            raise GeometryError(
                "unreasonable_value",
                f"{what} holds a number of more than {MOST_DIGITS} digits",
                "Check what was typed: no instrument shows this many digits.",
            )
