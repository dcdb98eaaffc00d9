"""Uncertainty budgets."""

import math
import time
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat

from inspections.domain.budget import Budget, Distribution, Line, least_root_multiple
from inspections.domain.instrument_budgets import (
    bore_gauge,
    caliper,
    depth_gauge,
    dial_indicator,
    feeler_set,
    torque_wrench,
)

F = Fraction
STEP = F("0.0001")


def feelers():
    return feeler_set(unit="in", bracket_step=F("0.010"), blade=F("0.001"), feel=F("0.003"), face=F("0.005"))


def test_the_feeler_set_of_the_shops_has_its_stated_uncertainty():
    budget = feelers()
    # 0.005^2/3 + 0.001^2/3 + 0.003^2 + 0.005^2/3
    assert budget.variance == F("0.000026")
    assert budget.expanded(STEP) == F("0.0102")
    assert budget.effective_degrees is None
    assert budget.coverage_factor(0.9545) == pytest.approx(2.0, abs=1e-4)


def test_an_expanded_uncertainty_is_rounded_up_and_never_down():
    assert feelers().expanded(F("0.001")) == F("0.011")
    assert least_root_multiple(F(4), F(1)) == 2
    assert least_root_multiple(F(4) + F(1, 10**30), F(1)) == 3
    assert least_root_multiple(F(0), F(1)) == 0
    assert least_root_multiple(F(1, 9), F(1, 3)) == F(1, 3)


@given(st.fractions(min_value=0, max_value=1000), st.fractions(min_value=F(1, 1000), max_value=10))
def test_the_rounded_root_is_the_least_multiple_not_below_it(square, step):
    root = least_root_multiple(square, step)
    assert root**2 >= square
    assert root == 0 or (root - step) ** 2 < square
    assert (root / step).denominator == 1


@pytest.mark.parametrize(
    ("distribution", "variance"),
    [
        # GUM, JCGM 100:2008, 4.3.7 (rectangular), 4.3.9 (triangular), H.1.3.4 and common practice (arcsine)
        (Distribution.RECTANGULAR, F(36, 3)),
        (Distribution.TRIANGULAR, F(36, 6)),
        (Distribution.ARCSINE, F(36, 2)),
        (Distribution.NORMAL, F(36)),
        (Distribution.EXPANDED, F(9)),
    ],
)
def test_each_distribution_has_its_divisor(distribution, variance):
    assert Line("x", F(6), distribution).variance == variance
    assert Line("x", F(6), distribution, sensitivity=F(-1, 2)).variance == variance / 4


def test_the_gauge_block_of_the_guide():
    # GUM, JCGM 100:2008, H.1: contributions in nm, u_c = 32 nm; nu_eff = 16.7, truncated to 16 before the table,
    # where k95 = 2.12. Degrees of freedom 18, 24, 5, 8, 50, 2 from memory.
    figures = [("25", 18), ("5.8", 24), ("3.9", 5), ("6.7", 8), ("2.9", 50), ("16.6", 2)]
    lines = tuple(Line(u, F(u), Distribution.NORMAL, degrees=F(nu)) for u, nu in figures)
    budget = Budget("Gauge block", "nm", lines)
    assert round(budget.standard_uncertainty) == 32
    assert int(budget.effective_degrees) == 16
    assert float(budget.effective_degrees) == pytest.approx(16.7, abs=0.06)  # 16.753 from the rounded inputs
    assert round(budget.coverage_factor(0.95), 2) == 2.12
    assert budget.coverage_factor(0.95) > 2.113  # what 16.7, not truncated, would give


@given(
    st.lists(
        st.tuples(
            st.fractions(min_value=F(1, 1000), max_value=10, max_denominator=1000),
            st.fractions(min_value=F(1, 100), max_value=3, max_denominator=100),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_combined_uncertainty_agrees_with_another_library(pairs):
    total = sum(float(c) * ufloat(1, float(u)) for u, c in pairs)
    lines = tuple(Line(str(at), u, Distribution.NORMAL, c) for at, (u, c) in enumerate(pairs))
    assert Budget("t", "mm", lines).standard_uncertainty == pytest.approx(total.std_dev, rel=1e-9, abs=1e-12)


@given(st.lists(st.tuples(st.integers(1, 100), st.integers(1, 60)), min_size=1, max_size=6))
def test_effective_degrees_lie_between_the_least_and_the_sum(pairs):
    lines = tuple(Line("x", F(u), Distribution.NORMAL, degrees=F(nu)) for u, nu in pairs)
    effective = Budget("t", "mm", lines).effective_degrees
    assert min(nu for _, nu in pairs) <= effective <= sum(nu for _, nu in pairs)


@given(st.fractions(min_value=0, max_value=1, max_denominator=1000))
def test_another_line_never_makes_a_gauge_better(figure):
    budget = feelers()
    more = Budget("t", "in", (*budget.lines, Line("x", figure, Distribution.RECTANGULAR)))
    assert more.expanded(STEP) >= budget.expanded(STEP)
    assert sum(map(more.share, more.lines)) == 1


def instruments():
    mm = {
        "unit": "mm",
        "resolution": F("0.01"),
        "limit_of_error": F("0.03"),
        "deviation": F("0.01"),
        "count": 10,
    }
    dial = {k: v for k, v in mm.items() if k != "resolution"}
    return [
        feelers(),
        caliper(**mm, alignment=F("0.01")),
        bore_gauge(**mm, setting_ring=F("0.004"), temperature=F("0.002")),
        depth_gauge(**mm, seat=F("0.01")),
        dial_indicator(**dial, graduation=F("0.01"), hysteresis=F("0.006"), alignment=F("0.002")),
        torque_wrench(
            unit="N.m",
            target=F(200),
            relative_limit=F("0.04"),
            resolution=F(2),
            certificate=F(3),
            deviation=F(1),
            count=10,
            reach=F("0.01"),
        ),
    ]


@pytest.mark.parametrize(
    ("at", "squares"),
    [
        (1, [0.005**2 / 3, 0.03**2 / 3, 0.01**2, 0.01**2 / 3]),
        (2, [0.005**2 / 3, 0.03**2 / 3, 0.002**2, 0.01**2, 0.002**2 / 3]),
        (3, [0.005**2 / 3, 0.03**2 / 3, 0.01**2, 0.01**2 / 3]),
        (4, [2 * 0.005**2 / 3, 0.03**2 / 3, 0.003**2 / 3, 0.01**2, 0.002**2 / 3]),
        (5, [8.0**2 / 3, 1.0**2 / 3, 1.5**2, 1.0**2, 2.0**2 / 3]),
    ],
)
def test_each_kind_of_instrument_adds_up_its_lines(at, squares):
    budget = instruments()[at]
    assert budget.standard_uncertainty == pytest.approx(math.sqrt(sum(squares)), rel=1e-12)
    repeat = next(line for line in budget.lines if line.name == "repeatability")
    assert repeat.degrees == 9
    assert budget.coverage_factor(0.95) >= 1.9599


def test_a_coverage_factor_with_billions_of_degrees_comes_at_once_and_is_the_normal_one():
    sure = Line("limit", F("0.005"), Distribution.RECTANGULAR)
    shaky = Line("repeatability", F("0.0000001"), Distribution.NORMAL, degrees=F(9))
    budget = Budget("Caliper", "in", (sure, shaky))
    assert budget.effective_degrees > 10**15
    started = time.perf_counter()
    assert budget.coverage_factor() == pytest.approx(stats.norm.ppf(0.975), abs=5e-4)  # GUM, table G.2, last row
    assert time.perf_counter() - started < 1


def test_a_budget_prints_every_line_and_its_result():
    for budget in instruments():
        text = budget.table(STEP)
        assert text.startswith(budget.title + "\n")
        assert all(line.name in text for line in budget.lines)
        assert f"u ({budget.unit})" in text
        assert "rounded up" in text
    text = feelers().table(STEP)
    assert "u = 0.0051 in; effective degrees of freedom: no limit; U = 0.0102 in (k = 2, rounded up)" in text
    assert "34.6 %" in text
    assert "expanded, k = 2" in instruments()[2].table(STEP)


def test_figures_that_cannot_be_are_refused():
    for line in ({"figure": F(-1)}, {"figure": F(1), "k": F(0)}, {"figure": F(1), "degrees": F(0)}):
        with pytest.raises(ValueError, match="positive"):
            Line(name="x", distribution=Distribution.NORMAL, **line)
    with pytest.raises(ValueError, match="two readings"):
        caliper(unit="mm", resolution=F(1), limit_of_error=F(1), deviation=F(1), count=1, alignment=F(0))
    with pytest.raises(ValueError, match="positive"):
        feelers().expanded(F(0))
    empty = Budget("nothing", "mm", ())
    assert empty.expanded(STEP) == 0
