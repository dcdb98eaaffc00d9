"""What four diameters say about the shape of a bore besides its elongation: for display, not for a verdict.

1. A diameter gives two opposite points at half its length from a common centre. Such a set is the same
   turned by half a turn, so least squares and minimum zone share that centre, and both roundness figures
   are half the elongation. Lobes of odd number (three, five) do not show in diameters at all.
2. With fewer than four angles no roundness is given.
3. An oval lying between the measured angles shows less than its full elongation: at four angles 45 degrees
   apart as little as 0.71 of it. The oval d = m + A cos 2t + B sin 2t fitted by least squares says how long
   it is along its own axis, 2 sqrt(A^2 + B^2), and where that axis lies.

Example: 1.503, 1.548, 1.566, 1.531: elongation 0.063; fitted oval 0.0653 long, at 82 degrees.

Source: Fourier series of a closed profile, two undulations per turn; two-point diameters see even lobes only:
common metrology, ISO 4292:1985 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, cos, degrees, hypot, radians, sin

from inspections.domain.bore import HALF_TURN, Bore

FEWEST_ANGLES = 4
DIRECTION_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Oval:
    """The fitted oval: mean diameter, longest less shortest diameter, direction of the longest in degrees."""

    mean: float
    elongation: float
    direction: float


@dataclass(frozen=True, slots=True)
class BoreShape:
    """The shape at one depth; figures are `None`, and `note` says why, where the points do not allow them."""

    depth: Fraction
    least_squares_roundness: Fraction | None
    minimum_zone_roundness: Fraction | None
    oval: Oval | None
    note: str


def bore_shapes(bore: Bore) -> tuple[BoreShape, ...]:
    """The shape at each depth, in the order of the depths."""
    if len(bore.angles) < FEWEST_ANGLES:
        note = f"too few points: {len(bore.angles)} angles measured, roundness and oval need {FEWEST_ANGLES}"
        return tuple(BoreShape(depth, None, None, None, note) for depth in bore.depths)
    note = "from diameters: lobes of odd number do not show"
    return tuple(
        BoreShape(depth, length / 2, length / 2, _oval(bore.angles, row), note)
        for depth, length, row in zip(bore.depths, bore.elongations, bore.diameters, strict=True)
    )


def _oval(angles: Sequence[int], diameters: Sequence[Fraction]) -> Oval | None:
    """Least squares by two-by-two normal equations about the means; `None` if the angles cannot carry it."""
    count = len(angles)
    waves = [(cos(radians(2 * angle)), sin(radians(2 * angle))) for angle in angles]
    mean_c, mean_s = sum(c for c, _ in waves) / count, sum(s for _, s in waves) / count
    mean = sum(diameters, Fraction(0)) / count
    rows = [(c - mean_c, s - mean_s, float(d - mean)) for (c, s), d in zip(waves, diameters, strict=True)]
    cc, cs, ss = (sum(r[i] * r[j] for r in rows) for i, j in ((0, 0), (0, 1), (1, 1)))
    cd, sd = sum(r[0] * r[2] for r in rows), sum(r[1] * r[2] for r in rows)
    whole = cc * ss - cs * cs
    a, b = (cd * ss - sd * cs) / whole, (sd * cc - cd * cs) / whole
    direction = round(degrees(atan2(b, a)) / 2, DIRECTION_DIGITS) % HALF_TURN
    return Oval(float(mean) - a * mean_c - b * mean_s, 2 * hypot(a, b), direction)
