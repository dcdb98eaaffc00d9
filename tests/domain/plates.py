"""Plates to measure: two grids with known flatness, and any plate at all."""

from fractions import Fraction

import numpy as np
from hypothesis import strategies as st

from inspections.domain.flatness import Flatness
from inspections.domain.minimum_zone import Point, Support

F = Fraction
ALONG = [F(v) for v in (0, 8, 16, 24, 32)]
ACROSS = [F(v) for v in (0, 9, 18)]
CLEAN = ".001 .003 .008 .011 .005 / .002 .010 .008 .009 .006 / .000 .000 .011 .010 .007"
WORN = ".019 .014 .011 .019 .037 / .004 .010 .007 .008 .034 / .009 .001 .000 .010 .028"

heights = st.integers(-60, 60).map(lambda n: F(n, 1000))
coordinates = st.integers(-12, 12).map(lambda n: F(n, 2))
plates = (
    st.dictionaries(st.tuples(coordinates, coordinates), heights, min_size=4, max_size=16)
    .map(lambda d: [Point(x, y, z) for (x, y), z in d.items()])
    .filter(lambda ps: np.linalg.matrix_rank([[float(p.x), float(p.y), 1.0] for p in ps]) == 3)
)
slopes = st.fractions(min_value=-2, max_value=2, max_denominator=50)


def grid(text: str) -> list[list[Fraction]]:
    """Rows of heights from text: blanks between heights, strokes between rows."""
    return [[F(value) for value in row.split()] for row in text.split("/")]


def supports(flatness: Flatness) -> list[Support]:
    """The deciding points as the proof wants them."""
    return [Support(point.index, point.high, point.weight) for point in flatness.deciding]
