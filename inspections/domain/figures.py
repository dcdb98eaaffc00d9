"""Shares and turns as people read them. For words only: nothing here decides."""

from fractions import Fraction

from inspections.domain.quantities import shown_number

_PARTS_OF_A_TURN = frozenset({1, 2, 3, 4, 6, 8, 12})


def percent_text(share: Fraction) -> str:
    """A share of one as whole percent: 0.47 is "47 %"."""
    return f"{shown_number(share * 100, Fraction(1))} %"


def mixed_text(value: Fraction) -> str:
    """A value as a mixed fraction: 5/4 is "1 1/4", 6/4 is "1 1/2", 3 is "3"."""
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value), 1)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"


def turns_text(turns: Fraction) -> str:
    """Turns as people can count them: 5/4 is "1 1/4", and what is no part of a turn in use is a decimal, "1.18"."""
    return mixed_text(turns) if turns.denominator in _PARTS_OF_A_TURN else shown_number(turns, Fraction(1, 100))


def counted(count: int, noun: str) -> str:
    """`count` with its noun: "1 shim", "3 shims"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
