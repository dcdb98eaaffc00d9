"""Every reading has exactly one outcome: its bands cover the number line without gap or overlap.

1. A band is not empty.
2. Sorted by their lower bounds, the first band is open below, the last is open above, and of two neighbours
   the one ends where the other begins, with exactly one of them holding the bound. Of a count only whole
   numbers are looked at.
3. Exactly one band passes; it is the tolerance interval.

Example: `less_than 0.180`, `at_least 0.180 and at_most 0.260`, `more_than 0.260` is whole.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor

from inspections.domain.characteristic import Method
from jobs.domain.procedure import Band, Outcome, ReadingSpec
from jobs.domain.procedure_errors import ProcedureProblem
from jobs.domain.proof.graph import Graph

Problems = Iterator[ProcedureProblem]


def number_line_problems(graph: Graph) -> Problems:
    for step in graph.steps:
        for index, reading in enumerate(step.readings):
            pointer = graph.at(step.key, "readings", index, "outcomes")
            for message, cure in _faults(reading):
                yield ProcedureProblem(pointer, f"“{reading.key}”: {message}", cure, steps=(step.key,))


Faults = Iterator[tuple[str, str]]


def _faults(reading: ReadingSpec) -> Faults:
    whole = reading.characteristic.method is Method.COUNT
    bands = [_in_whole_numbers(band) if whole else band for band in reading.bands]
    empty = [band for band in bands if _is_empty(band)]
    for band in empty:
        yield f"the band {_words(band)} holds nothing.", "Correct its bounds."
    yield from _coverage(sorted((band for band in bands if band not in empty), key=_place), whole=whole)
    passing = sum(band.then is Outcome.PASS for band in reading.bands)
    if passing != 1:
        yield f"{passing} bands pass; exactly one must.", "Let one band say `then: pass`."


def _place(band: Band) -> tuple[bool, Fraction, bool]:
    return band.lower is not None, band.lower or Fraction(0), not band.lower_inclusive


def _coverage(bands: list[Band], *, whole: bool) -> Faults:
    if not bands:
        return
    if bands[0].lower is not None:
        yield f"nothing is said of readings below {_words(bands[0])}.", "Add a band that is open below."
    for one, next_one in pairwise(bands):
        yield from _seam(one, next_one, whole=whole)
    if all(band.upper is not None for band in bands):
        yield f"nothing is said of readings above {_words(bands[-1])}.", "Add a band that is open above."


def _seam(one: Band, other: Band, *, whole: bool) -> Faults:
    pair = f"{_words(one)} and {_words(other)}"
    if one.upper is None or other.lower is None or one.upper > other.lower:
        yield f"the bands {pair} overlap.", "Let one end where the other begins."
    elif one.upper == other.lower and one.upper_inclusive and other.lower_inclusive:
        yield f"the bands {pair} both hold {_text(one.upper)}.", "Write `less_than` or `more_than` in one."
    elif not (whole and one.upper + 1 == other.lower) and not _touch(one, other):
        yield f"there is a gap between the bands {pair}.", "Let one end where the other begins."


def _touch(one: Band, other: Band) -> bool:
    return one.upper == other.lower and (one.upper_inclusive or other.lower_inclusive)


def _is_empty(band: Band) -> bool:
    if band.lower is None or band.upper is None:
        return False
    closed = band.lower_inclusive and band.upper_inclusive
    return band.lower > band.upper or (band.lower == band.upper and not closed)


def _in_whole_numbers(band: Band) -> Band:
    """The same whole numbers with inclusive bounds."""
    lower, upper = band.lower, band.upper
    if lower is not None:
        lower = Fraction(ceil(lower) if band.lower_inclusive else floor(lower) + 1)
    if upper is not None:
        upper = Fraction(floor(upper) if band.upper_inclusive else ceil(upper) - 1)
    return Band(lower, True, upper, True, band.then, band.correction, band.rework)


def _text(value: Fraction) -> str:
    """A bound as an author writes it: a decimal where it is one."""
    places = next((n for n in range(10) if (value * 10**n).denominator == 1), None)
    if places is None:
        return str(value)
    scaled = abs(int(value * 10**places))
    digits = str(scaled).rjust(places + 1, "0")
    sign = "-" if value < 0 else ""
    return sign + (f"{digits[:-places]}.{digits[-places:]}" if places else digits)


def _words(band: Band) -> str:
    lower = "" if band.lower is None else ("at least " if band.lower_inclusive else "more than ") + _text(band.lower)
    upper = "" if band.upper is None else ("at most " if band.upper_inclusive else "less than ") + _text(band.upper)
    return "(" + (" and ".join(part for part in (lower, upper) if part) or "everything") + ")"
