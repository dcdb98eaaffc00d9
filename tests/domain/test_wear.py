from decimal import Decimal
from fractions import Fraction
from math import sqrt

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.student_t import t_probability, t_quantile
from inspections.domain.wear import HORIZON, WearPoint, WearStatus, distance_since_adjustment, fit_line, judge_wear

F = Fraction
LIMIT = F("0.040")
P95 = F(95, 100)

# NIST Statistical Reference Datasets, Norris (linear regression, lower difficulty): y, x.
NORRIS = """
0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3  998.5 996.3  449.1 448.6
778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0  448.9 447.5  10.8 11.6
557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3  0.6 0.3  557.6 556.8  339.3 339.1
888.0 887.2  998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3  228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
"""


def points(*pairs):
    return tuple(WearPoint(F(distance), F(play)) for distance, play in pairs)


WORN = points((0, ".012"), (5000, ".015"), (10_000, ".019"), (15_000, ".021"), (20_000, ".026"))


def test_the_line_has_the_certified_values_of_nist_norris():
    numbers = NORRIS.split()
    line = fit_line(points(*zip(numbers[1::2], numbers[0::2], strict=True)))
    assert line.count == 36
    assert float(line.intercept) == pytest.approx(-0.262323073774029, rel=1e-12)
    assert float(line.slope) == pytest.approx(1.00211681802045, rel=1e-13)
    assert float(line.slope_error) == pytest.approx(0.429796848199937e-03, rel=1e-12)
    assert float(line.residual_deviation) == pytest.approx(0.884796396144373, rel=1e-12)


readings = st.lists(
    st.tuples(st.integers(0, 100_000), st.integers(0, 60)), min_size=3, max_size=12, unique_by=lambda p: p[0]
)


@given(readings)
def test_the_line_agrees_with_scipy(pairs):
    line = fit_line(tuple(WearPoint(F(x), F(y, 1000)) for x, y in pairs))
    scipys = scipy.stats.linregress([x for x, _ in pairs], [y / 1000 for _, y in pairs])
    assert float(line.slope) == pytest.approx(scipys.slope, rel=1e-6, abs=1e-12)
    assert float(line.intercept) == pytest.approx(scipys.intercept, rel=1e-6, abs=1e-9)
    assert float(line.slope_error) == pytest.approx(scipys.stderr, rel=1e-4, abs=1e-9)


@given(st.integers(1, 200), st.sampled_from(["0.5", "0.75", "0.9", "0.95", "0.975", "0.99", "0.999", "0.9999"]))
def test_the_quantile_agrees_with_scipy(degrees, confidence):
    ours = float(t_quantile(F(confidence), degrees))
    assert ours == pytest.approx(scipy.stats.t.ppf(float(confidence), degrees), rel=1e-8, abs=1e-9)


# Student's t as tabulated (one-sided 95 % and 97.5 %), any handbook of statistics.
@pytest.mark.parametrize(
    ("degrees", "confidence", "t"),
    [
        (1, "0.95", "6.314"),
        (2, "0.95", "2.920"),
        (3, "0.95", "2.353"),
        (5, "0.95", "2.015"),
        (10, "0.95", "1.812"),
        (30, "0.95", "1.697"),
        (16, "0.975", "2.120"),
        (10, "0.975", "2.228"),
    ],
)
def test_the_quantile_is_the_table_value(degrees, confidence, t):
    assert round(t_quantile(F(confidence), degrees), 3) == F(t)


@given(st.integers(1, 60), st.fractions(min_value=F(51, 100), max_value=F(999, 1000)))
def test_a_quantile_is_rounded_up_and_no_further(degrees, confidence):
    t = t_quantile(confidence, degrees)
    assert t_probability(_decimal(t), degrees) >= _decimal(confidence) - Decimal("1e-30")
    assert t_probability(_decimal(t) - Decimal("2e-12"), degrees) < _decimal(confidence)


def _decimal(value):
    return Decimal(value.numerator) / Decimal(value.denominator)


@given(st.integers(1, 50), st.decimals(min_value=-50, max_value=50, places=4))
def test_the_distribution_is_symmetric(degrees, t):
    assert abs(t_probability(t, degrees) + t_probability(-t, degrees) - 1) < Decimal("1e-25")


@pytest.mark.parametrize(("confidence", "degrees"), [("0.4", 5), ("1", 5), ("0.95", 0), ("0.95", 1001)])
def test_a_quantile_that_is_not_offered_is_refused(confidence, degrees):
    with pytest.raises(ValueError):
        t_quantile(F(confidence), degrees)


def test_steady_wear_gives_a_distance_with_its_confidence():
    wear = judge_wear(WORN, LIMIT)
    assert wear.status is WearStatus.WEARING
    assert wear.distance_left == _left_by_floating_point(WORN, LIMIT, 0.95)
    assert "standard error" in wear.message
    assert f"With 95 % confidence the limit is at least {wear.distance_left} mi away" in wear.message


def _left_by_floating_point(readings, limit, confidence):
    x = [float(p.distance) for p in readings]
    y = [float(p.play) for p in readings]
    fit, n, mean = scipy.stats.linregress(x, y), len(x), sum(x) / len(x)
    squares = sum((b - fit.intercept - fit.slope * a) ** 2 for a, b in zip(x, y, strict=True))
    s, spread = sqrt(squares / (n - 2)), sum((a - mean) ** 2 for a in x)
    t, left = scipy.stats.t.ppf(confidence, n - 2), 0
    while True:
        at = max(x) + left + 1
        bound = fit.intercept + fit.slope * at + t * s * sqrt(1 + 1 / n + (at - mean) ** 2 / spread)
        if bound > float(limit):
            return left
        left += 1


def test_wear_without_scatter_reaches_the_limit_where_the_line_does():
    wear = judge_wear(points((0, ".010"), (1000, ".011"), (2000, ".012")), LIMIT)
    assert wear.distance_left == 28_000  # equality on the limit is still within
    assert wear.line.slope_error == 0


@pytest.mark.parametrize(
    "few", [(), points((0, ".010")), points((0, ".010"), (9000, ".020")), points(*[(500, ".010")] * 6)]
)
def test_too_few_points_are_said_as_such(few):
    wear = judge_wear(few, LIMIT)
    assert wear.status is WearStatus.TOO_FEW_POINTS
    assert wear.distance_left is None
    assert "Too few points" in wear.message


def test_a_level_line_says_that_no_wear_is_seen():
    wear = judge_wear(points((0, ".012"), (5000, ".012"), (9000, ".012")), LIMIT)
    assert wear.status is WearStatus.NO_WEAR_SEEN
    assert wear.distance_left is None
    assert f"No limit is in sight within {HORIZON} mi" in wear.message


def test_scatter_that_hides_the_slope_still_bounds_the_distance():
    wear = judge_wear(points((0, ".015"), (5000, ".012"), (9000, ".014"), (12_000, ".013")), LIMIT)
    assert wear.status is WearStatus.NO_WEAR_SEEN
    assert wear.distance_left is not None


def test_play_beyond_the_limit_leaves_nothing_even_from_one_point():
    wear = judge_wear(points((8000, ".041")), LIMIT)
    assert (wear.status, wear.distance_left) == (WearStatus.AT_LIMIT, 0)
    assert "beyond 0.04 in" in wear.message


def test_a_bound_already_beyond_the_limit_leaves_nothing():
    wear = judge_wear(points((0, ".020"), (5000, ".036"), (9000, ".029")), LIMIT)
    assert (wear.status, wear.distance_left) == (WearStatus.AT_LIMIT, 0)


@given(readings, st.sampled_from(["0.5", "0.8", "0.9", "0.95", "0.99"]), st.sampled_from(["0.5", "0.8", "0.95"]))
def test_more_confidence_never_leaves_more_distance(pairs, one, other):
    given_points = tuple(WearPoint(F(x), F(y, 1000)) for x, y in pairs)
    less, more = sorted((F(one), F(other)))
    left = [judge_wear(given_points, LIMIT, c).distance_left for c in (less, more)]
    assert _or_horizon(left[1]) <= _or_horizon(left[0])


@given(readings, st.integers(0, 80), st.integers(0, 80))
def test_a_wider_limit_never_leaves_less_distance(pairs, one, other):
    given_points = tuple(WearPoint(F(x), F(y, 1000)) for x, y in pairs)
    left = [judge_wear(given_points, F(limit, 1000)).distance_left for limit in sorted((one, other))]
    assert _or_horizon(left[0]) <= _or_horizon(left[1])


def _or_horizon(left):
    return HORIZON if left is None else left


def test_a_thousand_and_more_points_are_judged():
    many = tuple(WearPoint(F(10 * n), F(12_000 + n + n % 7, 10**6)) for n in range(1100))
    assert judge_wear(many, LIMIT).status is WearStatus.WEARING


def test_a_part_adjusted_after_it_was_found_beyond_the_limit_is_not_at_the_limit():
    two_runs = (WearPoint(F(0), F("0.013")), WearPoint(F(25_000), F("0.041")), WearPoint(F(0), F("0.014")))
    worn = (*two_runs, WearPoint(F(50_000), F("0.068")))
    limit = F("0.060")
    assert judge_wear(worn, limit).status is WearStatus.AT_LIMIT
    adjusted = WearPoint(F(0), F("0.012"))
    known = (*worn, adjusted)
    found = judge_wear(known, limit, now=adjusted)
    assert found.status is WearStatus.WEARING
    assert found.distance_left == distance_since_adjustment(known, limit)
    assert found.distance_left > 25_000
