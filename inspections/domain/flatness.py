"""How flat is a plate? Heights at known places in, one exact width out, and the points that decide it.

1. At least four points, at different places, not all on one line, at most one hundred. (Three points always
   lie in one plane: they would pass any plate.)
2. The tilt and offset of the plate on the bench do not count: only the shape that is left.
3. The minimum zone decides; the least-squares figure, never smaller, and the raw range are shown beside it.
4. Widths are along z, exact. Along the normal a zone is narrower by the cosine of the tilt, so the width
   along z never passes what the normal would fail.

Example: a square of nine points, one corner 0.10 high. Raw range 0.10; the plane leans towards the corner and
the minimum zone is 0.075.

Sources: flatness as the width between the two closest parallel planes, ISO 1101:2017; reference planes MZPL
and LSPL, ISO 12781-1:2011 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import sqrt

from inspections.domain.convex_hull import Place, convex_hull, lies_within
from inspections.domain.geometry_error import GeometryError, require_exact
from inspections.domain.least_squares_plane import least_squares_plane
from inspections.domain.minimum_zone import Plane, Point, minimum_zone

__all__ = ["Flatness", "GeometryError", "Plane", "Point", "Shape", "flatness_of_grid", "flatness_of_points"]

FEWEST_POINTS = 4
MOST_POINTS = 100


class Shape(StrEnum):
    """What the points that touch the two planes say, whichever plane of least width is taken."""

    FLAT = "flat"  # no width at all
    DISHED = "dished"  # a low point lies between high points
    CROWNED = "crowned"  # a high point lies between low points
    WAVY = "wavy"  # both
    TWISTED = "twisted"  # neither: the line of two high points crosses over the line of two low points


@dataclass(frozen=True, slots=True)
class DecidingPoint:
    """A point that touches one of the two planes, with the weight it carries in the proof."""

    index: int  # among the points given; in a grid row by row
    point: Point
    high: bool
    weight: Fraction


@dataclass(frozen=True, slots=True)
class Flatness:
    """The flatness of one set of points, in the unit they came in."""

    minimum_zone: Fraction  # width of the narrowest zone along z: this decides
    least_squares: Fraction  # highest to lowest about the least-squares plane
    raw_range: Fraction  # highest to lowest as typed, tilt and all
    plane: Plane  # half way between the two planes of the minimum zone
    least_squares_plane: Plane
    deciding: tuple[DecidingPoint, ...]  # three or four; none when the plate is perfectly flat
    shape: Shape
    points: tuple[Point, ...]  # as given; in a grid row by row
    residuals: tuple[Fraction, ...]  # of `points` about `plane`: from minus to plus half the minimum zone

    @property
    def tilt(self) -> tuple[Fraction, Fraction]:
        """The rise in x and in y per unit of length that was removed."""
        return self.plane.a, self.plane.b

    @property
    def normal_zone(self) -> float:
        """The minimum zone measured along the normal of its planes: for display, not for a verdict."""
        return float(self.minimum_zone) / sqrt(1 + float(self.plane.a) ** 2 + float(self.plane.b) ** 2)

    @property
    def least_squares_residuals(self) -> tuple[Fraction, ...]:
        """The heights of `points` above the least-squares plane."""
        return tuple(self.least_squares_plane.residual(point) for point in self.points)


def flatness_of_grid(xs: Sequence[Fraction], ys: Sequence[Fraction], zs: Sequence[Sequence[Fraction]]) -> Flatness:
    """The flatness of heights over a grid: one row of `zs` for each of `ys`, one height for each of `xs`.

    All in one unit. Raises `GeometryError`: `ragged_grid`, and what `flatness_of_points` raises.
    """
    _require_size(len(xs) * len(ys))
    if len(zs) != len(ys):
        raise GeometryError(
            "ragged_grid",
            f"The grid has {len(ys)} places across but {len(zs)} rows of heights",
            "Give one row of heights for each place across.",
        )
    for number, row in enumerate(zs, start=1):
        if len(row) != len(xs):
            raise GeometryError(
                "ragged_grid",
                f"Row {number} has {len(row)} heights, the grid has {len(xs)} places along",
                "Measure every point of the grid; leave none out.",
            )
    return flatness_of_points([(x, y, z) for y, row in zip(ys, zs, strict=True) for x, z in zip(xs, row, strict=True)])


def flatness_of_points(points: Sequence[tuple[Fraction, Fraction, Fraction]]) -> Flatness:
    """The flatness of heights at any places: (x, y, z) each, all in one unit.

    Raises `GeometryError`: `too_few_points`, `too_many_points`, `collinear_points`, `duplicate_point`,
    `not_exact`, `unreasonable_value`.
    """
    _require_size(len(points))
    require_exact((value for point in points for value in point), "The list of points")
    exact = tuple(Point(*map(Fraction, point)) for point in points)
    _require_one_height_each(exact)
    zone = minimum_zone(exact)
    squares = least_squares_plane(exact)
    about_squares = [squares.residual(point) for point in exact]
    residuals = tuple(zone.plane.residual(point) for point in exact)
    heights = [point.z for point in exact]
    return Flatness(
        minimum_zone=zone.width,
        least_squares=max(about_squares) - min(about_squares),
        raw_range=max(heights) - min(heights),
        plane=zone.plane,
        least_squares_plane=squares,
        deciding=tuple(DecidingPoint(s.index, exact[s.index], s.high, s.weight) for s in zone.supports),
        shape=_shape(exact, residuals, zone.width),
        points=exact,
        residuals=residuals,
    )


def _require_size(count: int) -> None:
    if count < FEWEST_POINTS:
        raise GeometryError(
            "too_few_points",
            f"{count} points cannot show whether a plate is flat: three always lie in one plane",
            f"Measure at least {FEWEST_POINTS} points not all on one line; a grid of 5 by 3 is usual.",
        )
    if count > MOST_POINTS:
        raise GeometryError(
            "too_many_points",
            f"{count} points are more than the {MOST_POINTS} that are judged exactly",
            f"Send at most {MOST_POINTS} points, spread over the whole plate.",
        )


def _require_one_height_each(points: Sequence[Point]) -> None:
    seen: dict[tuple[Fraction, Fraction], Fraction] = {}
    for point in points:
        if seen.setdefault((point.x, point.y), point.z) != point.z:
            raise GeometryError(
                "duplicate_point",
                f"The place ({point.x}, {point.y}) has two different heights",
                "Keep one height for each place: measure it again and send the one you trust.",
            )
    _require_size(len(seen))


def _shape(points: Sequence[Point], residuals: Sequence[Fraction], width: Fraction) -> Shape:
    """Any proof uses only points that touch, so look among them for one with a single point on a side."""
    if width == 0:
        return Shape.FLAT
    touching = list(zip(points, residuals, strict=True))
    high = [(point.x, point.y) for point, residual in touching if residual == width / 2]
    low = [(point.x, point.y) for point, residual in touching if residual == -width / 2]
    crowned, dished = _any_between(high, low), _any_between(low, high)
    if crowned and dished:
        return Shape.WAVY
    if crowned:
        return Shape.CROWNED
    return Shape.DISHED if dished else Shape.TWISTED


def _any_between(inner: Sequence[Place], outer: Sequence[Place]) -> bool:
    hull = convex_hull(outer)
    return any(lies_within(place, hull) for place in inner)
