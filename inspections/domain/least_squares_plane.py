"""The least-squares plane, exact: the plane that makes the sum of squared heights about it smallest.

Solved from sums about the centroid, where the normal equations are two by two:

    Sxx a + Sxy b = Sxz        Sxy a + Syy b = Syz        c = mean(z) - a mean(x) - b mean(y)

Source: Gauss's normal equations; as reference plane LSPL in ISO 12781-1:2011, 3.3 (from memory).
"""

from collections.abc import Sequence
from fractions import Fraction

from inspections.domain.geometry_error import GeometryError
from inspections.domain.minimum_zone import Plane, Point


def least_squares_plane(points: Sequence[Point]) -> Plane:
    """The plane z = a x + b y + c closest in the sum of squares along z; raises `collinear_points`."""
    count = len(points)
    mean_x, mean_y, mean_z = (sum(point[k] for point in points) / Fraction(count) for k in range(3))
    about = [(p.x - mean_x, p.y - mean_y, p.z - mean_z) for p in points]
    sxx, sxy, syy = (_sum(about, i, j) for i, j in ((0, 0), (0, 1), (1, 1)))
    sxz, syz = _sum(about, 0, 2), _sum(about, 1, 2)
    determinant = sxx * syy - sxy * sxy
    if determinant == 0:
        raise GeometryError(
            "collinear_points",
            "All points lie on one line, so any plane through it fits as well as another",
            "Measure at least one point well off the line.",
        )
    a = (sxz * syy - syz * sxy) / determinant
    b = (syz * sxx - sxz * sxy) / determinant
    return Plane(a, b, mean_z - a * mean_x - b * mean_y)


def _sum(about: Sequence[tuple[Fraction, Fraction, Fraction]], i: int, j: int) -> Fraction:
    return sum((row[i] * row[j] for row in about), Fraction(0))
