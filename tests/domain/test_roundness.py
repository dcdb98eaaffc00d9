"""Circles: a published benchmark, constructed profiles, and a brute-force minimum zone."""

from fractions import Fraction
from itertools import combinations
from math import cos, hypot, pi, sin

import numpy as np
import pytest
from circle_fit import taubinSVD
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from inspections.domain.geometry_error import GeometryError
from inspections.domain.roundness import least_squares_circle, minimum_zone_circle, spread

F = Fraction
# Gander, Golub, Strebel, Least-squares fitting of circles and ellipses, BIT 34 (1994) 558-578
PUBLISHED = [(F(1), F(7)), (F(2), F(6)), (F(5), F(8)), (F(7), F(7)), (F(9), F(5)), (F(3), F(7))]


def exact(x: float, y: float) -> tuple[Fraction, Fraction]:
    return F(round(x * 10**13), 10**13), F(round(y * 10**13), 10**13)


def lobes(count: int, height: float, radius: float = 25.4, points: int = 60):
    turns = [2 * pi * k / points for k in range(points)]
    radii = [radius + height * cos(count * t) for t in turns]
    return [exact(1 + r * cos(t), -2 + r * sin(t)) for r, t in zip(radii, turns, strict=True)]


def pulled_apart(radius: float, by: float, points: int = 31):
    turns = [-pi / 2 + pi * k / (points - 1) for k in range(points)]
    half = [(by / 2 + radius * cos(t), radius * sin(t)) for t in turns]
    return [exact(x, y) for x, y in half] + [exact(-x, y) for x, y in half]


def test_the_published_six_points_give_the_published_geometric_circle():
    found = least_squares_circle(PUBLISHED)
    assert (found.x, found.y) == pytest.approx((4.739782, 2.983533), abs=5e-7)
    assert found.radius == pytest.approx(4.714226, abs=5e-7)
    assert found.deviation == pytest.approx(0.4523271, abs=5e-8)
    assert found.roundness == pytest.approx(1.4130027, abs=5e-8)


def test_the_geometric_circle_fits_better_than_an_algebraic_one():
    x, y, radius, _ = taubinSVD(np.array([[float(v) for v in p] for p in PUBLISHED]))
    assert (x, y, radius) == pytest.approx((4.613933, 2.795209, 4.879213), abs=5e-7)
    taubin = [hypot(float(px) - x, float(py) - y) - radius for px, py in PUBLISHED]
    assert least_squares_circle(PUBLISHED).deviation < (sum(d * d for d in taubin) / 6) ** 0.5


@pytest.mark.parametrize(("count", "height"), [(3, 0.05), (5, 0.02), (2, 0.04)])
def test_a_lobed_profile_is_twice_its_wave_out_of_round_by_either_circle(count: int, height: float):
    for fit in (least_squares_circle, minimum_zone_circle):
        found = fit(lobes(count, height))
        assert (found.x, found.y, found.radius) == pytest.approx((1, -2, 25.4), abs=1e-9)
        assert found.roundness == pytest.approx(2 * height, abs=1e-9)


def test_a_square_is_out_of_round_by_root_two_less_one():
    square = [(F(x), F(y)) for x in (-1, 0, 1) for y in (-1, 0, 1) if x or y]
    assert minimum_zone_circle(square).roundness == pytest.approx(2**0.5 - 1, abs=1e-12)


def test_six_points_on_two_radii_are_a_tenth_apart():
    six = [exact(r * cos(pi * k / 3), r * sin(pi * k / 3)) for k in range(6) for r in [0.9 if k % 2 else 1.0]]
    assert minimum_zone_circle(six).roundness == pytest.approx(0.100, abs=1e-9)


def test_roundness_shows_only_half_of_an_elongation():
    slot = pulled_apart(10, 0.300)
    assert least_squares_circle(slot).roundness == pytest.approx(0.148875, abs=5e-7)
    assert max(x for x, _ in slot) - min(x for x, _ in slot) - 20 == F("0.3")


def brute_force(points) -> float:
    """Every centre two pairs of points can fix: bisectors crossing; a pair may share a point (three on one circle)."""
    floats = [(float(x), float(y)) for x, y in points]
    best = float("inf")
    pairs = list(combinations(floats, 2))
    for (p, q), (r, s) in combinations(pairs, 2):
        rows = np.array([[q[0] - p[0], q[1] - p[1]], [s[0] - r[0], s[1] - r[1]]])
        if abs(np.linalg.det(rows)) > 1e-9:
            right = [
                (q[0] ** 2 + q[1] ** 2 - p[0] ** 2 - p[1] ** 2) / 2,
                (s[0] ** 2 + s[1] ** 2 - r[0] ** 2 - r[1] ** 2) / 2,
            ]
            best = min(best, spread(floats, *map(float, np.linalg.solve(rows, right))))
    return best


noise = st.lists(st.integers(-200, 200).map(lambda n: n / 10_000), min_size=5, max_size=8)


def noisy(offsets: list[float]):
    turns = [2 * pi * k / len(offsets) for k in range(len(offsets))]
    return [exact((1 + d) * cos(t), (1 + d) * sin(t)) for d, t in zip(offsets, turns, strict=True)]


@given(noise)
@settings(max_examples=40, deadline=None)
def test_the_minimum_zone_is_the_best_of_all_centres(offsets: list[float]):
    points = noisy(offsets)
    assert minimum_zone_circle(points).roundness == pytest.approx(brute_force(points), abs=1e-9)


@given(noise)
def test_the_minimum_zone_circle_is_never_wider_than_the_least_squares_one(offsets: list[float]):
    points = noisy(offsets)
    assert minimum_zone_circle(points).roundness <= least_squares_circle(points).roundness + 1e-12


@given(noise)
@settings(deadline=None)
def test_scipy_finds_the_same_least_squares_circle(offsets: list[float]):
    points = noisy(offsets)
    floats = np.array([[float(x), float(y)] for x, y in points])
    answer = least_squares(
        lambda c: np.hypot(floats[:, 0] - c[0], floats[:, 1] - c[1]) - c[2],
        [0.01, 0.01, 1.0],
        xtol=1e-14,
        ftol=1e-14,
        gtol=1e-14,
    )
    found = least_squares_circle(points)
    assert (found.x, found.y, found.radius) == pytest.approx(tuple(answer.x), abs=1e-7)


@given(noise, st.integers(-100, 100), st.integers(1, 1000))
def test_moving_turning_and_scaling_a_hole_scales_its_roundness_only(offsets: list[float], shift: int, scale: int):
    points = noisy(offsets)
    turned = [
        ((F(3, 5) * x - F(4, 5) * y) * scale + shift, (F(4, 5) * x + F(3, 5) * y) * scale - shift) for x, y in points
    ]
    for fit in (least_squares_circle, minimum_zone_circle):
        assert fit(turned).roundness == pytest.approx(scale * fit(points).roundness, abs=1e-8 * scale)


RING = lobes(3, 0.05, points=12)


@pytest.mark.parametrize(
    ("points", "code"),
    [
        ([], "too_few_points"),
        (RING[:3], "too_few_points"),
        ([RING[0], RING[4], RING[8], RING[0]], "too_few_points"),
        ([(F(k), F(2 * k)) for k in range(6)], "collinear_points"),
        ([(F(0), F(0))] * 2 + [(F(k), F(2 * k)) for k in range(6)], "collinear_points"),
        ([(F(k), F(k * k, 10**6)) for k in range(-4, 5)], "no_circle"),
        ([(F(k), F(k * k, 10**12)) for k in range(-4, 5)], "no_circle"),
        ([(F(k), F(k**3, 100)) for k in range(-4, 5)], "no_circle"),
        ([*RING, (0.5, F(1))], "not_exact"),
        ([*RING, (F(10) ** 400, F(1))], "unreasonable_value"),
        ([(F(k), F(k * k)) for k in range(10_000)], "too_many_points"),
    ],
)
def test_points_that_show_no_roundness_are_refused_with_a_cure(points, code: str):
    for fit in (least_squares_circle, minimum_zone_circle):
        with pytest.raises(GeometryError) as caught:
            fit(points)
        assert caught.value.code == code
        assert caught.value.cure


def test_points_on_one_half_leave_the_minimum_zone_open():
    with pytest.raises(GeometryError) as caught:
        minimum_zone_circle(RING[:6])
    assert caught.value.code == "points_on_one_side"
