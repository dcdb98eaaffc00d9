"""The minimum zone against other methods: its own proof, a linear program, brute force, width in space."""

from fractions import Fraction
from itertools import combinations, product
from time import perf_counter

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from inspections.domain.flatness import flatness_of_grid, flatness_of_points
from inspections.domain.minimum_zone import Point, Support, is_proof, minimum_zone
from tests.domain.plates import ACROSS, ALONG, CLEAN, WORN, F, grid, plates, supports


@given(plates)
def test_the_deciding_points_prove_that_no_zone_is_narrower(points: list[Point]):
    found = flatness_of_points(points)
    assert is_proof(points, found.minimum_zone, supports(found))
    assert 0 <= len(found.deciding) <= 4


@given(plates)
def test_a_false_proof_is_recognised(points: list[Point]):
    found = flatness_of_points(points)
    assume(found.deciding)
    proof = supports(found)
    assert not is_proof(points, found.minimum_zone + F(1, 10**9), proof)
    assert not is_proof(points, found.minimum_zone, proof[1:])
    assert not is_proof(points, found.minimum_zone, ())
    negative = [Support(d.index, d.high, -d.weight) for d in proof]
    assert not is_proof(points, found.minimum_zone, negative)
    heavier = [Support(proof[0].index, proof[0].high, proof[0].weight + F(1, 7)), *proof[1:]]
    assert not is_proof(points, found.minimum_zone, heavier)


def linear_program(points: list[Point]) -> float:
    """min h subject to 0 <= z - a x - b y - c <= h."""
    rows, bounds = [], []
    for x, y, z in ((float(p.x), float(p.y), float(p.z)) for p in points):
        rows += [[x, y, 1.0, 0.0], [-x, -y, -1.0, -1.0]]
        bounds += [z, -z]
    free = [(None, None)] * 3
    answer = linprog([0, 0, 0, 1], A_ub=rows, b_ub=bounds, bounds=[*free, (0, None)], method="highs")
    assert answer.status == 0
    return float(answer.fun)


@given(plates)
@settings(max_examples=60, deadline=None)
def test_the_zone_is_the_one_scipys_linear_program_finds(points: list[Point]):
    assert float(minimum_zone(points).width) == pytest.approx(linear_program(points), abs=1e-8)


def every_width(points: list[Point]) -> Fraction:
    """Brute force: every plane direction along two point pairs (facets and edge-edge pairs alike)."""
    best = max(p.z for p in points) - min(p.z for p in points)
    for (p, q), (r, s) in combinations(combinations(points, 2), 2):
        ux, uy, uz = (q[k] - p[k] for k in range(3))
        vx, vy, vz = (s[k] - r[k] for k in range(3))
        whole = ux * vy - uy * vx
        if whole:
            a, b = (uz * vy - uy * vz) / whole, (ux * vz - uz * vx) / whole
            left = [w.z - a * w.x - b * w.y for w in points]
            best = min(best, max(left) - min(left))
    return best


@given(plates.filter(lambda ps: len(ps) <= 7))
@settings(max_examples=40, deadline=None)
def test_no_direction_of_two_point_pairs_gives_a_narrower_zone(points: list[Point]):
    assert minimum_zone(points).width == every_width(points)


def normal_width(points: list[Point]) -> float:
    """The width of the convex hull in space, along any direction: facets and edge-edge pairs."""
    cloud = np.array([[float(v) for v in p] for p in points])
    edges = np.array([b - a for a, b in combinations(cloud, 2)])
    normals = np.array([np.cross(u, v) for u, v in combinations(edges, 2)])
    sizes = np.linalg.norm(normals, axis=1)
    heights_along = cloud @ (normals[sizes > 1e-9] / sizes[sizes > 1e-9, None]).T
    return float(np.min(np.ptp(heights_along, axis=0)))


@given(plates.filter(lambda ps: len(ps) <= 8), st.sampled_from([F(0), F(1, 100), F(1, 5)]))
@settings(max_examples=40, deadline=None)
def test_the_width_along_z_is_never_below_the_width_along_the_best_normal(points: list[Point], tilt: F):
    tilted = [Point(p.x, p.y, p.z + tilt * p.x) for p in points]
    assert float(minimum_zone(tilted).width) >= normal_width(tilted) - 1e-12


@pytest.mark.parametrize("text", [CLEAN, WORN])
def test_for_a_near_flat_plate_the_normal_zone_is_the_true_width_in_space(text: str):
    found = flatness_of_grid(ALONG, ACROSS, grid(text))
    chosen = [found.points[index] for index in (0, 4, 6, 8, 9, 10, 11, 12, 14)]
    assert flatness_of_points(chosen).normal_zone == pytest.approx(normal_width(chosen), abs=1e-8)


@pytest.mark.parametrize("wave", [7, 13, 101])
def test_a_hundred_points_are_judged_within_a_second(wave: int):
    points = [
        (F(i), F(j), F((i * i * wave + j * 37 * i + 11 * j) % 997, 1000)) for i, j in product(range(10), repeat=2)
    ]
    begun = perf_counter()
    found = flatness_of_points(points)
    assert perf_counter() - begun < 1
    assert is_proof([Point(*p) for p in points], found.minimum_zone, supports(found))
