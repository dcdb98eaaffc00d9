"""Limits, guard bands and the probability of conformity."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inspections.domain.characteristic import DecisionRule, Limits, RuleKind
from inspections.domain.probability import (
    conformity,
    inside,
    normal_cdf,
    normal_quantile,
    student_cdf,
    student_coverage,
)
from inspections.domain.tolerance import Side, Verdict, acceptance_limits, decide, guard_band, widened

F = Fraction
GAP = Limits(F("0.180"), F("0.260"))
U = F("0.0102")
SIMPLE = DecisionRule(RuleKind.SIMPLE)
GUARDED = DecisionRule(RuleKind.GUARDED)
values = st.fractions(min_value=-5, max_value=5, max_denominator=1000)
bands = st.fractions(min_value=0, max_value=2, max_denominator=1000)
rules = st.builds(DecisionRule, st.sampled_from(RuleKind), bands)
intervals = st.builds(
    lambda low, width, a, b, c, d: Limits(low if c else None, low + width if d else None, a, b),
    values,
    st.fractions(min_value=0, max_value=5, max_denominator=1000),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.booleans(),
)
ORDER = {Verdict.FAIL: 0, Verdict.CONDITIONAL: 1, Verdict.PASS: 2}


@pytest.mark.parametrize(
    ("value", "verdict", "near"),
    [
        ("0.178", Verdict.FAIL, Side.BELOW),
        ("0.1799999", Verdict.FAIL, Side.BELOW),
        ("0.180", Verdict.CONDITIONAL, Side.BELOW),
        ("0.187", Verdict.CONDITIONAL, Side.BELOW),
        ("0.1901999", Verdict.CONDITIONAL, Side.BELOW),
        ("0.1902", Verdict.PASS, None),
        ("0.199", Verdict.PASS, None),
        ("0.249", Verdict.PASS, None),
        ("0.2498", Verdict.PASS, None),
        ("0.2498001", Verdict.CONDITIONAL, Side.ABOVE),
        ("0.260", Verdict.CONDITIONAL, Side.ABOVE),
        ("0.2600001", Verdict.FAIL, Side.ABOVE),
    ],
)
def test_guarded_acceptance_has_three_answers(value, verdict, near):
    decision = decide(F(value), GAP, GUARDED, U)
    assert (decision.verdict, decision.near) == (verdict, near)
    assert decision.outside is (verdict is Verdict.FAIL)


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        # at 5 below, on the edge, and 5 above each of: T_L - w, T_L, T_L + w; with T_L = 100, w = 10
        (RuleKind.SIMPLE, "fff fpp ppp"),
        (RuleKind.GUARDED, "fff fcc cpp"),
        (RuleKind.GUARDED_REJECTION, "fcc cpp ppp"),
        (RuleKind.GUARDED_BOTH, "fcc ccc cpp"),
    ],
)
def test_each_rule_changes_its_answer_where_it_says(kind, expected):
    places = [F(edge + step) for edge in (90, 100, 110) for step in (-5, 0, 5)]
    rule, limits = DecisionRule(kind), Limits(F(100), None)
    got = "".join(decide(place, limits, rule, F(10)).verdict.value[0] for place in places)
    assert got == expected.replace(" ", "")


def test_equality_on_a_limit_obeys_the_limit():
    closed, open_ends = Limits(F(1), F(2)), Limits(F(1), F(2), False, False)
    for end, side in ((F(1), Side.BELOW), (F(2), Side.ABOVE)):
        assert decide(end, closed, SIMPLE, None).verdict is Verdict.PASS
        assert decide(end, open_ends, SIMPLE, None).verdict is Verdict.FAIL
        assert decide(end, open_ends, SIMPLE, None).near is side
    third = Limits(None, F(1, 3))
    assert decide(F(1, 3), third, SIMPLE, None).verdict is Verdict.PASS
    assert decide(F(1, 3) + F(1, 10**30), third, SIMPLE, None).verdict is Verdict.FAIL


def test_a_trade_gap_in_fractions_is_judged_on_its_ends_exactly():
    # 3/16 +- 1/16 in; too small below 1/8, too large above 1/4: common practice, no source
    gap = Limits(F(1, 8), F(1, 4))
    assert decide(F("0.125"), gap, SIMPLE, None).verdict is Verdict.PASS
    assert decide(F("0.1249"), gap, SIMPLE, None).near is Side.BELOW
    assert decide(F("0.250"), gap, SIMPLE, None).verdict is Verdict.PASS
    assert decide(F("6.35") / F("25.4"), gap, SIMPLE, None).verdict is Verdict.PASS
    assert decide(F("6.36") / F("25.4"), gap, SIMPLE, None).near is Side.ABOVE


def test_a_guarded_rule_without_an_uncertainty_is_an_error_of_the_caller():
    with pytest.raises(ValueError, match="uncertainty"):
        decide(F(1), GAP, GUARDED, None)
    with pytest.raises(ValueError, match="negative"):
        guard_band(GUARDED, F(-1))
    assert guard_band(SIMPLE, None) == 0


def test_limits_narrower_than_two_guard_bands_let_nothing_pass():
    narrow = Limits(F("0.20"), F("0.21"))
    crossed = acceptance_limits(narrow, GUARDED, U)
    assert crossed.lower > crossed.upper
    assert decide(F("0.204"), narrow, GUARDED, U).near is Side.BELOW
    assert decide(F("0.206"), narrow, GUARDED, U).near is Side.ABOVE
    assert {decide(F(n, 1000), narrow, GUARDED, U).verdict for n in range(190, 221)} == {
        Verdict.FAIL,
        Verdict.CONDITIONAL,
    }


@given(values, intervals, rules, bands)
def test_without_a_guard_band_every_rule_is_simple_acceptance(value, limits, rule, uncertainty):
    bare = DecisionRule(rule.kind, F(0))
    simple = decide(value, limits, SIMPLE, None)
    assert decide(value, limits, bare, uncertainty) == simple
    assert (simple.verdict is Verdict.PASS) == inside(value, limits)


@given(values, values, intervals, rules, bands)
def test_verdicts_rise_and_fall_once_along_the_number_line(a, b, limits, rule, uncertainty):
    low, high = sorted((a, b))
    upper_only = Limits(None, limits.upper, True, limits.upper_inclusive)
    verdicts = [decide(v, upper_only, rule, uncertainty).verdict for v in (low, high)]
    assert ORDER[verdicts[0]] >= ORDER[verdicts[1]]
    middle = decide((low + high) / 2, limits, rule, uncertainty).verdict
    ends = [ORDER[decide(v, limits, rule, uncertainty).verdict] for v in (low, high)]
    assert ORDER[middle] >= min(ends)


@given(values, intervals, st.sampled_from(RuleKind), bands, bands, bands)
def test_guard_bands_nest(value, limits, kind, r, more, uncertainty):
    narrow = decide(value, limits, DecisionRule(kind, r), uncertainty).verdict
    wide = decide(value, limits, DecisionRule(kind, r + more), uncertainty).verdict
    if wide is Verdict.PASS:
        assert narrow is Verdict.PASS
    if wide is Verdict.FAIL:
        assert narrow is Verdict.FAIL


@given(values, intervals, bands, bands)
def test_what_passes_guarded_passes_simply_and_what_fails_simply_fails_guarded(value, limits, r, uncertainty):
    simple = decide(value, limits, SIMPLE, None).verdict
    guarded = decide(value, limits, DecisionRule(RuleKind.GUARDED, r), uncertainty).verdict
    assert (guarded is Verdict.FAIL) == (simple is Verdict.FAIL)
    assert inside(value, acceptance_limits(limits, DecisionRule(RuleKind.GUARDED, r), uncertainty)) == (
        guarded is Verdict.PASS
    )


@given(values, intervals, rules, bands, st.fractions(min_value=F(1, 100), max_value=100, max_denominator=100))
def test_a_verdict_does_not_depend_on_the_unit(value, limits, rule, uncertainty, scale):
    scaled = Limits(
        None if limits.lower is None else limits.lower * scale,
        None if limits.upper is None else limits.upper * scale,
        limits.lower_inclusive,
        limits.upper_inclusive,
    )
    ours = decide(value, limits, rule, uncertainty)
    theirs = decide(value * scale, scaled, rule, uncertainty * scale)
    assert (ours.verdict, ours.near, ours.outside) == (theirs.verdict, theirs.near, theirs.outside)


@given(intervals, bands)
def test_widening_and_narrowing_undo_each_other(limits, by):
    assert widened(widened(limits, by), -by) == limits


@pytest.mark.parametrize(
    ("limits", "y", "u", "published", "digits"),
    [
        # JCGM 106:2012, 7.3 example 1 (breakdown voltage) and 2 (burst strength), 7.4 (oil); inputs from memory
        (Limits(None, F("-5.40")), "-5.47", "0.05", 0.92, 2),
        (Limits(F(490), None), "509.7", "8.6", 0.99, 2),
        (Limits(F("12.5"), F("16.3")), "13.6", "1.8", 0.66, 2),
    ],
)
def test_the_probability_of_conformity_is_the_published_one(limits, y, u, published, digits):
    assert round(conformity(F(y), limits, F(u)), digits) == published


@given(values, intervals, st.fractions(min_value=F(1, 1000), max_value=3, max_denominator=1000))
def test_the_probability_of_conformity_agrees_with_scipy(value, limits, u):
    normal = stats.norm(float(value), float(u))
    low = normal.cdf(float(limits.lower)) if limits.lower is not None else 0.0
    high = normal.sf(float(limits.upper)) if limits.upper is not None else 0.0
    assert conformity(value, limits, u) == pytest.approx(max(0.0, 1 - low - high), abs=1e-12)


def test_a_value_known_for_certain_conforms_or_does_not():
    assert conformity(F("0.18"), GAP, F(0)) == 1.0
    assert conformity(F("0.17"), GAP, F(0)) == 0.0
    assert conformity(F(10) ** 400, GAP, F(1, 10**400)) == 0.0
    with pytest.raises(ValueError, match="negative"):
        conformity(F(1), GAP, F(-1))


@pytest.mark.parametrize("z", [-38.0, -6.0, -1.0, 0.0, 0.3, 2.0, 9.0])
def test_the_normal_distribution_agrees_with_scipy(z):
    assert normal_cdf(z) == pytest.approx(stats.norm.cdf(z), rel=1e-12)


@pytest.mark.parametrize("p", [1e-9, 0.01, 0.5, 0.95, 0.975, 1 - 1e-9])
def test_quantiles_of_the_normal_distribution_agree_with_scipy(p):
    assert normal_quantile(p) == pytest.approx(stats.norm.ppf(p), abs=1e-9)
    for outside in (0.0, 1.0, -1.0, 2.0):
        with pytest.raises(ValueError, match="probability"):
            normal_quantile(outside)


@pytest.mark.parametrize("degrees", [1, 2, 3, 8, 16, 50, 1000, 10**6])
def test_students_distribution_agrees_with_scipy(degrees):
    for confidence in (0.5, 0.95, 0.9973):
        theirs = stats.t.ppf((1 + confidence) / 2, degrees)
        assert student_coverage(confidence, degrees) == pytest.approx(theirs, rel=1e-7)
    for t in (-3.0, -0.1, 0.0, 0.7, 12.0):
        assert student_cdf(t, degrees) == pytest.approx(stats.t.cdf(t, degrees), abs=1e-9)
    with pytest.raises(ValueError, match="degree"):
        student_coverage(0.95, 0)


def test_coverage_factors_are_those_of_the_guide():
    # GUM, JCGM 100:2008, table G.2, 95 %: nu = 1, 5, 10, 16, 50 (from memory; 16 quoted in H.1.6)
    assert [round(student_coverage(0.95, nu), 2) for nu in (1, 5, 10, 16, 50)] == [
        12.71,
        2.57,
        2.23,
        2.12,
        2.01,
    ]
