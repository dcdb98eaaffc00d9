"""One step towards a circle: least squares, damped; and minimum zone, by the exact zone of the radii.

Sources: Levenberg, Quart. Appl. Math. 2 (1944) 164-168; the linear form of the radius (limaçon) is that of
ISO 4291:1985 (both from memory).
"""

from collections.abc import Sequence
from fractions import Fraction
from math import hypot

from inspections.domain.minimum_zone import Point, minimum_zone

GRAIN = 10**13  # the zone is solved exactly on radii and directions rounded to this part of the extent

Triple = tuple[float, float, float]


def damped_step(points: Sequence[tuple[float, float]], circle: Triple, damping: float) -> Triple | None:
    """The shift of (x, y, radius) that (J'J + damping I) shift = -J'd asks for, d the radial distances.

    `None` when the damping is too weak to leave one answer.
    """
    x, y, radius = circle
    normal = [[damping if i == j else 0.0 for j in range(3)] for i in range(3)]
    right = [0.0, 0.0, 0.0]
    for px, py in points:
        distance = hypot(px - x, py - y) or 1.0
        slope = ((x - px) / distance, (y - py) / distance, -1.0)
        for i in range(3):
            right[i] -= slope[i] * (distance - radius)
            for j in range(3):
                normal[i][j] += slope[i] * slope[j]
    return _solved(normal, right)


def zone_step(points: Sequence[tuple[float, float]], x: float, y: float) -> tuple[float, float]:
    """The shift of the centre that makes the zone of the radii, taken as linear in the shift, narrowest."""
    places = []
    for px, py in points:
        radius = hypot(px - x, py - y) or 1.0
        cosine, sine = (px - x) / radius, (py - y) / radius
        places.append(Point(_grains(cosine), _grains(sine), _grains(radius)))
    plane = minimum_zone(places).plane
    return float(plane.a), float(plane.b)


def _grains(value: float) -> Fraction:
    return Fraction(round(value * GRAIN), GRAIN)


def _solved(normal: list[list[float]], right: list[float]) -> Triple | None:
    """Cramer's rule for three unknowns."""
    whole = _determinant(normal)
    if whole <= 0:
        return None
    columns = [[[right[i] if j == k else normal[i][j] for j in range(3)] for i in range(3)] for k in range(3)]
    first, second, third = (_determinant(matrix) / whole for matrix in columns)
    return first, second, third


def _determinant(m: list[list[float]]) -> float:
    return (
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
        - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    )
