"""How long does an exact minimum zone take, beside scipy's floating linear program on the same points?

    python -m tests.benchmarks.bench_minimum_zone

Prints medians in milliseconds and their ratio. Exits 1 if 15 points take more than 5 ms or 100 more than a second.
"""

import sys
from collections.abc import Callable
from fractions import Fraction
from statistics import median
from time import perf_counter

import numpy as np
from scipy.optimize import linprog

from inspections.domain.flatness import flatness_of_points
from inspections.domain.minimum_zone import Point, minimum_zone

BUDGET_15_MS = 5.0
BUDGET_100_MS = 1000.0
ROUNDS = 40

CLEAN = ".001 .003 .008 .011 .005 .002 .010 .008 .009 .006 .000 .000 .011 .010 .007"


def clean_plate() -> list[Point]:
    heights = iter(CLEAN.split())
    return [Point(Fraction(8 * i), Fraction(9 * j), Fraction(next(heights))) for j in range(3) for i in range(5)]


def rough_plate(side: int, seed: int) -> list[Point]:
    """A square grid of heights in whole thousandths, with ties, as feelers give them."""
    draws = np.random.default_rng(seed)
    return [
        Point(Fraction(i), Fraction(j), Fraction(int(draws.integers(0, 60)), 1000))
        for i in range(side)
        for j in range(side)
    ]


def linear_program(points: list[Point]) -> float:
    matrix = np.array([[float(p.x), float(p.y), 1.0] for p in points])
    heights = np.array([float(p.z) for p in points])
    nought = np.zeros((len(points), 1))
    answer = linprog(
        [0, 0, 0, 1],
        A_ub=np.vstack([np.hstack([matrix, nought]), np.hstack([-matrix, nought - 1])]),
        b_ub=np.concatenate([heights, -heights]),
        bounds=[(None, None)] * 3 + [(0, None)],
        method="highs",
    )
    return float(answer.fun)


def milliseconds(work: Callable[[list[Point]], object], plates: list[list[Point]]) -> float:
    times = []
    for plate in plates:
        begun = perf_counter()
        work(plate)
        times.append(1000 * (perf_counter() - begun))
    return median(times)


def main() -> int:
    sets = {
        "15, clean plate": [clean_plate()] * ROUNDS,
        "16, rough": [rough_plate(4, seed) for seed in range(ROUNDS)],
        "100, rough": [rough_plate(10, seed) for seed in range(ROUNDS)],
    }
    print(f"{'points':18}{'zone ms':>10}{'flatness ms':>13}{'linprog ms':>12}{'zone/linprog':>14}")
    whole = {}
    for name, plates in sets.items():
        worst = max(abs(float(minimum_zone(plate).width) - linear_program(plate)) for plate in plates)
        if worst > 1e-8:
            print(f"{name}: differs from the linear program by {worst}")
            return 1
        zone, reference = milliseconds(minimum_zone, plates), milliseconds(linear_program, plates)
        whole[name] = milliseconds(flatness_of_points, plates)
        print(f"{name:18}{zone:10.3f}{whole[name]:13.3f}{reference:12.3f}{zone / reference:14.2f}")
    return int(whole["15, clean plate"] > BUDGET_15_MS or whole["100, rough"] > BUDGET_100_MS)


if __name__ == "__main__":
    sys.exit(main())
