"""How round is a hole? Least-squares and minimum-zone circles of traced points, for display only.

1. LSCI, the least-squares circle: the circle with the smallest sum of squared radial distances. Found by
   Levenberg's damped Gauss-Newton steps on centre and radius.
2. MZCI, the minimum zone: the centre about which largest less smallest radius is least. Near a centre the
   radius of point i is r_i = R + a cos t_i + b sin t_i, so each step is a minimum zone of heights r_i over
   the places (cos t_i, sin t_i): the very problem that flatness solves exactly. A step that does not shrink
   the zone is halved.
3. Roundness is the largest less the smallest radius about that centre. MZCI <= LSCI.

Radii are square roots, so these figures are binary floats, good to about 1e-9 of the radius. The minimum
found is the one next to the least-squares centre; for holes that are nearly round it is the only one.

Example: the four corners and four edge middles of a square two wide: sqrt(2) - 1.

Roundness under-reports elongation: pulling a round hole out by e gives about e/2. The difference of
diameters, in `bore.py`, is the check for that. Sources: LSCI, MZCI: ISO 12181-1:2011; Gander, Golub,
Strebel, BIT 34 (1994) 558-578 for the geometric fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, fsum, hypot, pi

from inspections.domain.circle_steps import Triple, damped_step, zone_step
from inspections.domain.geometry_error import GeometryError, require_exact

FEWEST_POINTS = 4
MOST_POINTS = 400
MOST_STEPS = 200
CLOSE_ENOUGH = 1e-13  # of the radius
LARGEST_RADIUS = 100.0  # in units of the points' extent: beyond it they are a line, not a hole
WEAKEST_DAMPING = 1e-3  # to start from, and to come back to after a step that failed

FloatPoint = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Circle:
    """A centre and radius fitted to points, with the radial spread of the points about that centre."""

    x: float
    y: float
    radius: float
    roundness: float  # largest less smallest radius
    deviation: float  # root mean square of the radial distances from the circle


def least_squares_circle(points: Sequence[tuple[Fraction, Fraction]]) -> Circle:
    """The LSCI of (x, y) places, in their unit.

    Raises `GeometryError`: `too_few_points`, `too_many_points`, `collinear_points`, `no_circle`, `not_exact`,
    `unreasonable_value`.
    """
    floats, (x, y, scale) = _scaled(points)
    centre_x, centre_y, radius = _least_squares(floats)
    return _circle(points, x + scale * centre_x, y + scale * centre_y, scale * radius)


def minimum_zone_circle(points: Sequence[tuple[Fraction, Fraction]]) -> Circle:
    """The MZCI of (x, y) places, in their unit; the radius is half way between the two circles.

    Raises `GeometryError` as `least_squares_circle` does, and `points_on_one_side` if no point lies on one
    half of the circle: two circles could then be pushed together without end.
    """
    floats, (x, y, scale) = _scaled(points)
    centre_x, centre_y, _ = _least_squares(floats)
    _require_all_round(floats, centre_x, centre_y)
    step = 1.0
    for _ in range(MOST_STEPS):
        shift_x, shift_y = zone_step(floats, centre_x, centre_y)
        tried = (centre_x + step * shift_x, centre_y + step * shift_y)
        if spread(floats, *tried) < spread(floats, centre_x, centre_y):
            (centre_x, centre_y), step = tried, 1.0
        else:
            step /= 2
        if step * hypot(shift_x, shift_y) < CLOSE_ENOUGH:
            break
    return _circle(points, x + scale * centre_x, y + scale * centre_y, None)


def spread(points: Sequence[FloatPoint], x: float, y: float) -> float:
    """The largest less the smallest distance of `points` from a centre."""
    radii = [hypot(px - x, py - y) for px, py in points]
    return max(radii) - min(radii)


def _least_squares(points: Sequence[FloatPoint]) -> Triple:
    circle = (0.0, 0.0, fsum(hypot(x, y) for x, y in points) / len(points))
    damping = WEAKEST_DAMPING
    for _ in range(MOST_STEPS):
        shift = damped_step(points, circle, damping)
        tried = circle if shift is None else _moved(circle, shift)
        if shift is None or _squares(points, tried) > _squares(points, circle):
            damping = max(10 * damping, WEAKEST_DAMPING)
        else:
            circle, damping = tried, damping / 10
        if damping > 1 / CLOSE_ENOUGH or (shift is not None and max(map(abs, shift)) < CLOSE_ENOUGH):
            break
    if circle[2] > LARGEST_RADIUS:
        raise GeometryError(
            "no_circle",
            "These points hardly bend: no circle fits them",
            "Measure points all around the hole, and check what was typed.",
        )
    return circle


def _moved(circle: Triple, shift: Triple) -> Triple:
    return circle[0] + shift[0], circle[1] + shift[1], circle[2] + shift[2]


def _squares(points: Sequence[FloatPoint], circle: Triple) -> float:
    x, y, radius = circle
    return fsum((hypot(px - x, py - y) - radius) ** 2 for px, py in points)


def _circle(points: Sequence[tuple[Fraction, Fraction]], x: float, y: float, radius: float | None) -> Circle:
    radii = [hypot(float(px) - x, float(py) - y) for px, py in points]
    size = (max(radii) + min(radii)) / 2 if radius is None else radius
    deviation = (fsum((r - size) ** 2 for r in radii) / len(radii)) ** 0.5
    return Circle(x, y, size, max(radii) - min(radii), deviation)


def _scaled(
    points: Sequence[tuple[Fraction, Fraction]],
) -> tuple[list[FloatPoint], tuple[float, float, float]]:
    """The points about their middle in units of their extent, with that middle and extent."""
    _require_points(points)
    x = (min(p[0] for p in points) + max(p[0] for p in points)) / Fraction(2)
    y = (min(p[1] for p in points) + max(p[1] for p in points)) / Fraction(2)
    scale = max(max(abs(p[0] - x), abs(p[1] - y)) for p in points)
    floats = [(float((px - x) / scale), float((py - y) / scale)) for px, py in points]
    return floats, (float(x), float(y), float(scale))


def _require_points(points: Sequence[tuple[Fraction, Fraction]]) -> None:
    if len(points) > MOST_POINTS:
        raise GeometryError(
            "too_many_points",
            f"{len(points)} points are more than the {MOST_POINTS} that are fitted",
            f"Send at most {MOST_POINTS} points, spread evenly around the hole.",
        )
    require_exact((value for point in points for value in point), "The list of points")
    different = list(dict.fromkeys(points))
    if len(different) < FEWEST_POINTS:
        raise GeometryError(
            "too_few_points",
            f"{len(different)} different points cannot show roundness: three always lie on one circle",
            f"Measure at least {FEWEST_POINTS} points, spread all around the hole.",
        )
    (x, y), (along_x, along_y) = different[0], different[1]
    if all((along_x - x) * (py - y) == (along_y - y) * (px - x) for px, py in different):
        raise GeometryError(
            "collinear_points", "All points lie on one straight line", "Measure points all around the hole."
        )


def _require_all_round(points: Sequence[FloatPoint], x: float, y: float) -> None:
    angles = sorted(atan2(py - y, px - x) for px, py in points)
    gaps = [b - a for a, b in zip(angles, [*angles[1:], angles[0] + 2 * pi], strict=True)]
    if max(gaps) > pi:
        raise GeometryError(
            "points_on_one_side",
            "All points lie on one half of the circle, which leaves its centre open",
            "Measure points all around the hole.",
        )
