"""The scale of a number line: which stretch of the line is shown, and where a value lies on it.

1. Both limits are always shown, with room on both sides; with one limit the scale begins at nought where no value is
   below it, so that a length looks as long as it is.
2. Every value and its uncertainty are shown, as far as the stretch between the limits stays wide enough to read.
3. What lies further out is drawn at the edge as an arrow: off the scale, never moved onto it in silence.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from jobs.printed_record.blocks import NumberLine

_ROOM: Final = Fraction(1, 4)  # beside the limits, in stretches between them
_FURTHEST: Final = Fraction(3, 2)


@dataclass(frozen=True, slots=True)
class Scale:
    low: Fraction
    high: Fraction

    def share(self, value: Fraction) -> float:
        """Where `value` lies, from 0 at the left end to 1 at the right; outside is cut off."""
        return float(min(max((value - self.low) / (self.high - self.low), Fraction(0)), Fraction(1)))

    def holds(self, value: Fraction) -> bool:
        return self.low <= value <= self.high


def scale_of(line: NumberLine) -> Scale:
    lower = line.lower.at if line.lower else None
    upper = line.upper.at if line.upper else None
    reached = _reached(line)
    if lower is not None and upper is not None:
        stretch = upper - lower or max(abs(upper) / 10, Fraction(1))
        return _around(lower, upper, stretch, reached)
    if upper is not None:
        stretch = abs(upper) or max((abs(value) for value in reached), default=Fraction(0)) or Fraction(1)
        begin = Fraction(0) if upper > 0 and all(value >= 0 for value in reached) else upper - stretch
        return Scale(begin, _around(begin, upper, stretch, reached).high)
    if lower is None:
        return Scale(Fraction(0), Fraction(1))
    stretch = abs(lower) or Fraction(1)
    low = min([lower - stretch / 4, *(max(value, lower - stretch) for value in reached)])
    high = max([lower + stretch / 2, *(min(value, lower + 2 * stretch) for value in reached)])
    edge = (high - low) / 20
    return Scale(low - edge, high + edge)


def _around(lower: Fraction, upper: Fraction, stretch: Fraction, reached: Sequence[Fraction]) -> Scale:
    low = min([lower - _ROOM * stretch, *(max(value, lower - _FURTHEST * stretch) for value in reached)])
    high = max([upper + _ROOM * stretch, *(min(value, upper + _FURTHEST * stretch) for value in reached)])
    edge = (high - low) / 40
    return Scale(low - edge, high + edge)


def _reached(line: NumberLine) -> list[Fraction]:
    found = []
    for mark in line.marks:
        spread = mark.uncertainty or Fraction(0)
        found += [mark.value - spread, mark.value + spread]
    return found
