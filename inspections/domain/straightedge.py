"""Flatness from a straightedge and feeler gaps: gaps under several positions -> heights -> flatness.

1. One position shows straightness along one line, never flatness. Each needs three measured places or more.
2. The straightedge is taken as straight and stiff, and lies still while its gaps are read. How it lies is not
   assumed: each position has its own unknown offset and slope, so it may rock on a crown or stand on blocks.
3. Positions are tied where they cross at the same measured place: there they must give one height. With least
   squares over all crossings, exact. What is left open is the tilt of the whole, which flatness ignores.
4. Positions that are not tied to one sheet (two parallel ones and one across can still twist) are refused.
5. Positions that cross more often than is needed disagree a little: the closure, which shows what the heights
   are worth. The largest gap, the figure a bench reads off, is kept beside it.

Example: both diagonals and the four sides of a rectangle, three places on each: nine heights, just tied, so
no closure. With the two middle lines as well, eight positions, two crossings are to spare and a misread gap
shows.

Sources: closed line surveys of surface plates, least squares on the crossings: common practice, in the
manner of Moody, The Tool Engineer, October 1955 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.flatness import Flatness, flatness_of_points
from inspections.domain.geometry_error import GeometryError, require_exact
from inspections.domain.linear_system import solve_with_freedom

FEWEST_STATIONS = 3
MOST_PLACEMENTS = 20
PLANE_FREEDOM = 3  # offset and two slopes of the whole

Place = tuple[Fraction, Fraction]


@dataclass(frozen=True, slots=True)
class Station:
    """A place under the straightedge and the gap there, all in one unit; a touching place has gap nought."""

    x: Fraction
    y: Fraction
    gap: Fraction


@dataclass(frozen=True, slots=True)
class StraightedgeFlatness:
    """The flatness of the heights found, how well the positions agreed, and the largest gap seen."""

    flatness: Flatness
    closure: Fraction | None  # largest disagreement at one place; None: no crossing to spare, nothing to compare
    largest_gap: Fraction


def flatness_by_straightedge(placements: Sequence[Sequence[Station]]) -> StraightedgeFlatness:
    """The flatness seen by `placements`: for each position of the straightedge its stations, in line.

    Raises `GeometryError`: `one_line_only`, `too_few_stations`, `too_many_points`, `stations_not_in_line`,
    `duplicate_point`, `negative_gap`, `untied_placements`, and what `flatness_of_points` raises.
    """
    _require_sane(placements)
    sightings = _sightings(placements)
    matrix, right = _crossing_equations(sightings, 2 * len(placements))
    lines, freedom = solve_with_freedom(matrix, right)
    _require_tied(sightings, freedom)
    spare = sum(len(seen) - 1 for seen in sightings.values()) > 2 * len(placements) - PLANE_FREEDOM
    heights = {place: [_height(lines, *seen) for seen in views] for place, views in sightings.items()}
    points = [(x, y, sum(seen, Fraction(0)) / len(seen)) for (x, y), seen in heights.items()]
    return StraightedgeFlatness(
        flatness_of_points(points),
        closure=max(max(seen) - min(seen) for seen in heights.values()) if spare else None,
        largest_gap=max(station.gap for stations in placements for station in stations),
    )


Sighting = tuple[int, Fraction, Fraction]  # which position, how far along it, the gap


def _sightings(placements: Sequence[Sequence[Station]]) -> dict[Place, list[Sighting]]:
    """Who saw each place. The way along is x, or y for an edge that lies across: any even scale will do."""
    seen: dict[Place, list[Sighting]] = {}
    for number, stations in enumerate(placements):
        lies_across = stations[0].x == stations[1].x
        for station in stations:
            along = station.y if lies_across else station.x
            seen.setdefault((station.x, station.y), []).append((number, along, station.gap))
    return seen


def _height(lines: Sequence[Fraction], number: int, along: Fraction, gap: Fraction) -> Fraction:
    return lines[2 * number] + lines[2 * number + 1] * along - gap


def _crossing_equations(
    sightings: dict[Place, list[Sighting]], unknowns: int
) -> tuple[list[list[Fraction]], list[Fraction]]:
    """Normal equations: at each place the heights seen should equal their mean."""
    matrix = [[Fraction(0)] * unknowns for _ in range(unknowns)]
    right = [Fraction(0)] * unknowns
    for views in sightings.values():
        for number, along, gap in views:
            row, target = _difference_from_mean(views, (number, along, gap), unknowns)
            for i in (2 * number, 2 * number + 1):
                factor = along if i % 2 else Fraction(1)
                right[i] += factor * target
                matrix[i] = [old + factor * new for old, new in zip(matrix[i], row, strict=True)]
    return matrix, right


def _difference_from_mean(views: Sequence[Sighting], own: Sighting, unknowns: int) -> tuple[list[Fraction], Fraction]:
    """The row and right side of: own height less mean height = 0."""
    row = [Fraction(0)] * unknowns
    share = Fraction(1, len(views))
    for number, along, _ in views:
        row[2 * number] -= share
        row[2 * number + 1] -= share * along
    row[2 * own[0]] += 1
    row[2 * own[0] + 1] += own[1]
    return row, own[2] - share * sum((gap for _, _, gap in views), Fraction(0))


def _require_tied(sightings: dict[Place, list[Sighting]], freedom: int) -> None:
    places = list(sightings)
    if _in_line(places):
        raise GeometryError(
            "one_line_only",
            "All positions lie on one line: that shows straightness, not flatness",
            "Lay the straightedge along both diagonals and the sides as well.",
        )
    if freedom > PLANE_FREEDOM:
        raise GeometryError(
            "untied_placements",
            "The positions do not cross at enough measured places to make one surface",
            "Measure where positions cross: both diagonals and the four sides, corners included, are enough.",
        )


def _in_line(places: Sequence[Place]) -> bool:
    (x, y), (to_x, to_y) = places[0], places[1]
    return all((to_x - x) * (py - y) == (to_y - y) * (px - x) for px, py in places)


def _require_sane(placements: Sequence[Sequence[Station]]) -> None:
    if len(placements) > MOST_PLACEMENTS or sum(map(len, placements)) > MOST_PLACEMENTS**2:
        raise GeometryError(
            "too_many_points",
            f"{len(placements)} positions are more than the {MOST_PLACEMENTS} that are joined exactly",
            f"Send at most {MOST_PLACEMENTS} positions of at most {MOST_PLACEMENTS} places.",
        )
    if len(placements) <= 1:
        raise GeometryError(
            "one_line_only",
            "One position of the straightedge shows straightness, not flatness",
            "Lay the straightedge along both diagonals and the sides as well.",
        )
    for number, stations in enumerate(placements, start=1):
        _require_sane_placement(number, stations)


def _require_sane_placement(number: int, stations: Sequence[Station]) -> None:
    if len(stations) < FEWEST_STATIONS:
        raise GeometryError(
            "too_few_stations",
            f"Position {number} has {len(stations)} places: two always lie on a straight line",
            f"Measure the gap at {FEWEST_STATIONS} places or more along the straightedge.",
        )
    require_exact((v for s in stations for v in (s.x, s.y, s.gap)), f"Position {number}")
    places = [(station.x, station.y) for station in stations]
    if len(set(places)) < len(places):
        raise GeometryError(
            "duplicate_point",
            f"Position {number} names a place twice",
            "Give one gap for each place of a position.",
        )
    if not _in_line(places):
        raise GeometryError(
            "stations_not_in_line",
            f"The places of position {number} do not lie on one straight line",
            "Check the places typed for this position.",
        )
    if any(station.gap < 0 for station in stations):
        raise GeometryError(
            "negative_gap",
            f"Position {number} has a gap below nought",
            "A gap is nought where the edge touches.",
        )
