"""The exact minimum zone: the two closest parallel planes that hold every point, measured along z.

    minimise h   subject to   low <= z - a x - b y <= low + h   at every point

Its dual says why no plane can do better: take a weighted mean of some high points and a weighted mean of
some low points that lie over the *same* place; any two planes that hold all points are at least as far
apart as these two means. The dual is solved by the simplex method on integers:

1. Every point may carry weight as a high point or as a low point. Four conditions: the high weights sum to
   one, the low weights sum to one, and both means agree in x and in y. So at most four points decide.
2. Start: one point as high and as low, and two more that span the plane with it. Width nought.
3. Exchange: the point farthest outside the current planes comes in, the ratio test says which goes out.
4. Stop when no point is outside. Primal and dual then agree: the width is proven, not converged to.

After an exchange that gained nothing the lowest index is taken instead (Bland's rule) until one gains, so
the method cannot cycle on the many points in line that a grid has. The basis inverse is kept as an integer
adjugate over its determinant, so each division is exact and no fraction is ever reduced.

Example: on a square, two opposite corners at +1 and the others at -1. No three corners give the zone; the
two high corners' middle lies over the two low corners' middle, so the width is 2 and four points decide.

Sources: linear programming and duality, Dantzig 1963; Bland's rule, Math. Oper. Res. 2 (1977) 103-107;
integer pivoting, Bareiss, Math. Comp. 22 (1968) 565-578 (all from memory). That four points decide is
Helly's theorem in three unknowns and a width.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from inspections.domain.geometry_error import GeometryError


class Point(NamedTuple):
    """A place on the plate and its height, all in one unit."""

    x: Fraction
    y: Fraction
    z: Fraction


class Plane(NamedTuple):
    """z = a x + b y + c."""

    a: Fraction
    b: Fraction
    c: Fraction

    def residual(self, point: Point) -> Fraction:
        """How far the point stands above the plane, along z."""
        return point.z - self.a * point.x - self.b * point.y - self.c


@dataclass(frozen=True, slots=True)
class Support:
    """A point that decides: its index among the points given, its side, and its weight on that side."""

    index: int
    high: bool
    weight: Fraction


@dataclass(frozen=True, slots=True)
class Zone:
    """The width along z, the plane half way between the two, and the points that prove it."""

    width: Fraction
    plane: Plane
    supports: tuple[Support, ...]


@dataclass(frozen=True, slots=True)
class _Basis:
    """Four columns (2i: point i high, 2i+1: point i low); the inverse is `rows` over `determinant` > 0."""

    columns: tuple[int, ...]
    rows: tuple[tuple[int, ...], ...]
    determinant: int


@dataclass(frozen=True, slots=True)
class _Integers:
    """The points scaled to integers, with the scales."""

    xs: list[int]
    ys: list[int]
    zs: list[int]
    scales: tuple[int, int, int]

    def column(self, index: int) -> tuple[int, int, int, int]:
        x, y = self.xs[index >> 1], self.ys[index >> 1]
        return (0, 1, -x, -y) if index & 1 else (1, 0, x, y)

    def cost(self, index: int) -> int:
        return -self.zs[index >> 1] if index & 1 else self.zs[index >> 1]


def minimum_zone(points: Sequence[Point]) -> Zone:
    """The closest two parallel planes around `points`; raises `GeometryError` if they lie on one line.

    Exact. The answer does not depend on the order of the points; where several planes attain the width
    (a plate that rocks about a line), one of them is chosen, always the same.
    """
    order = sorted(range(len(points)), key=lambda index: points[index])
    scaled = _to_integers([points[index] for index in order])
    basis = _start(scaled)
    gained = True
    while (entering := _entering(basis, scaled, gained)) is not None:
        basis, gained = _exchange(basis, scaled, entering)
    return _zone(basis, scaled, order)


def is_proof(points: Sequence[Point], width: Fraction, supports: Sequence[Support]) -> bool:
    """Do these weights prove that no two parallel planes closer than `width` hold `points`?

    Checks only the certificate: weights not negative, one on each side, both means over the same place
    and `width` apart. Needs no trust in how it was found.
    """
    if not supports:
        return width <= 0
    if any(support.weight < 0 for support in supports):
        return False
    sums = [_weighted(points, [s for s in supports if s.high is side]) for side in (True, False)]
    (high_sum, high), (low_sum, low) = sums
    over_same_place = high[:2] == low[:2]
    return high_sum == low_sum == 1 and over_same_place and high.z - low.z == width


def _weighted(points: Sequence[Point], supports: Sequence[Support]) -> tuple[Fraction, Point]:
    total = sum((s.weight for s in supports), Fraction(0))
    x, y, z = (sum((s.weight * points[s.index][k] for s in supports), Fraction(0)) for k in range(3))
    return total, Point(x, y, z)


def _to_integers(points: Sequence[Point]) -> _Integers:
    scales = [lcm(*(point[k].denominator for point in points)) for k in range(3)]
    xs, ys, zs = ([int(point[k] * scales[k]) for point in points] for k in range(3))
    return _Integers(xs, ys, zs, (scales[0], scales[1], scales[2]))


def _start(scaled: _Integers) -> _Basis:
    """First point, last point, and the one farthest from their line: width nought, but a true basis."""
    last = len(scaled.xs) - 1
    across = [abs(_cross(scaled, 0, last, index)) for index in range(len(scaled.xs))]
    third = max(range(len(across)), key=across.__getitem__, default=0)
    if not across or across[third] == 0:
        raise GeometryError(
            "collinear_points",
            "All points lie on one line, so any plane through it fits as well as another",
            "Measure at least one point well off the line.",
        )
    identity = tuple(tuple(int(i == j) for j in range(4)) for i in range(4))
    basis = _Basis((-1,) * 4, identity, 1)
    for column in (0, 1, 2 * last, 2 * third):
        weights = _weights(basis, scaled.column(column))
        row = next(i for i in range(4) if basis.columns[i] < 0 and weights[i] != 0)
        basis = _pivot(basis, column, row, weights)
    return basis


def _cross(scaled: _Integers, p: int, q: int, r: int) -> int:
    xs, ys = scaled.xs, scaled.ys
    return (xs[q] - xs[p]) * (ys[r] - ys[p]) - (ys[q] - ys[p]) * (xs[r] - xs[p])


def _weights(basis: _Basis, column: Sequence[int]) -> list[int]:
    k0, k1, k2, k3 = column
    return [r0 * k0 + r1 * k1 + r2 * k2 + r3 * k3 for r0, r1, r2, r3 in basis.rows]


def _prices(basis: _Basis, scaled: _Integers) -> list[int]:
    """Upper intercept, minus lower intercept, slope in x, slope in y, all times the determinant."""
    costs = [scaled.cost(column) for column in basis.columns]
    return [sum(cost * row[k] for cost, row in zip(costs, basis.rows, strict=True)) for k in range(4)]


def _entering(basis: _Basis, scaled: _Integers, gained: bool) -> int | None:
    """The column of a point outside the planes: the farthest, or the first after a step without gain."""
    top, bottom, a, b = _prices(basis, scaled)
    d = basis.determinant
    heights = [d * z - a * x - b * y for x, y, z in zip(scaled.xs, scaled.ys, scaled.zs, strict=True)]
    highest, lowest = max(heights), min(heights)
    above, below = highest - top, -lowest - bottom
    if above <= 0 and below <= 0:
        return None
    if gained:
        return 2 * heights.index(highest) if above >= below else 2 * heights.index(lowest) + 1
    return next(
        2 * index + int(height <= top) for index, height in enumerate(heights) if height > top or -height > bottom
    )


def _exchange(basis: _Basis, scaled: _Integers, entering: int) -> tuple[_Basis, bool]:
    """Bring `entering` in; also say whether the width grew. A row always qualifies: weights sum to one."""
    weights = _weights(basis, scaled.column(entering))
    candidates = [row for row in range(4) if weights[row] > 0]
    levels = [row[0] + row[1] for row in basis.rows]
    leaving = min(candidates, key=lambda row: (Fraction(levels[row], weights[row]), basis.columns[row]))
    return _pivot(basis, entering, leaving, weights), levels[leaving] > 0


def _pivot(basis: _Basis, entering: int, leaving: int, weights: Sequence[int]) -> _Basis:
    head, pivot_row, d = weights[leaving], basis.rows[leaving], basis.determinant
    sign = 1 if head > 0 else -1
    rows = tuple(
        tuple(sign * p for p in pivot_row)
        if index == leaving
        else tuple(sign * (head * value - weights[index] * p) // d for value, p in zip(row, pivot_row, strict=True))
        for index, row in enumerate(basis.rows)
    )
    columns = tuple(entering if index == leaving else old for index, old in enumerate(basis.columns))
    return _Basis(columns, rows, abs(head))


def _zone(basis: _Basis, scaled: _Integers, order: Sequence[int]) -> Zone:
    top, bottom, a, b = _prices(basis, scaled)
    d, (sx, sy, sz) = basis.determinant, scaled.scales
    width = Fraction(top + bottom, d * sz)
    plane = Plane(Fraction(a * sx, d * sz), Fraction(b * sy, d * sz), Fraction(top - bottom, 2 * d * sz))
    supports = [
        Support(order[column >> 1], not column & 1, Fraction(row[0] + row[1], d))
        for column, row in zip(basis.columns, basis.rows, strict=True)
        if row[0] + row[1] > 0
    ]
    ordered = sorted(supports, key=lambda support: (not support.high, support.index))
    return Zone(width, plane, tuple(ordered) if width else ())
