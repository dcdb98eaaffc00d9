"""Consumer's and producer's risk, guard bands for a target, uncertainty ratios."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from inspections.domain.characteristic import Limits
from inspections.domain.quadrature import integral
from inspections.domain.risk import (
    GammaProcess,
    Interval,
    NormalProcess,
    global_risk,
    guard_band_for_false_accepts,
    guard_band_for_specific_risk,
    guard_factor,
    process_from_yield,
    risk_at_acceptance_limit,
    specific_risk,
    uncertainty_ratio,
)

F = Fraction
ONE = Interval(-1.0, 1.0)


def test_the_ball_bearing_of_the_guide():
    # JCGM 106:2012, 9.5.4: 4.2 % bad before inspection, consumer's risk 0.8 %, as reproduced with more digits
    # (4.238 %, 0.802 %, guard band 0.3282 um, A_U 1.672 um for 0.1 %) in the documentation of a public risk calculator
    process, tolerance = GammaProcess(4, 4), Interval(upper=2.0)
    assert (process.mean, process.deviation) == (1.0, 0.5)
    risk = global_risk(process, tolerance, tolerance, 0.25)
    assert round(risk.nonconforming, 5) == 0.04238
    assert round(risk.false_accept, 5) == 0.00802
    band = guard_band_for_false_accepts(process, tolerance, 0.25, 0.001)
    assert round(band, 4) == 0.3282
    assert round(2 - band, 3) == 1.672


def test_a_process_off_centre_with_its_risks_and_guard_band():
    # process N(9.5, 0.3), u = 0.1, limits 9 to 10: worked example of a public risk calculator's manual
    tolerance = Interval(9.0, 10.0)
    risk = global_risk(NormalProcess(9.5, 0.3), tolerance, tolerance, 0.1)
    assert risk.nonconforming == pytest.approx(0.0955807, abs=5e-8)
    assert risk.false_accept == pytest.approx(0.0189422, abs=5e-8)
    assert risk.false_reject == pytest.approx(0.0372078, abs=5e-8)
    band = guard_band_for_false_accepts(NormalProcess(9.5, 0.3), tolerance, 0.1, 0.005)
    assert band == pytest.approx(0.0920660, abs=5e-8)


def test_the_specific_risk_of_one_reading():
    # y = 9.8, u = 0.1, limits 9 to 10: same manual
    limits = Limits(F(9), F(10))
    assert specific_risk(F("9.8"), limits, F("0.1")) == pytest.approx(0.0227501, abs=5e-8)


@pytest.mark.parametrize(
    ("mean", "risk"),
    [("10", 0.01242), ("10.5", 0.10574), ("12", 0.99379)],
)
def test_the_share_of_a_process_beyond_its_limits(mean, risk):
    # N(mean, 0.4) within 9 to 11: spreadsheet values quoted in the tests of a public risk calculator
    assert specific_risk(F(mean), Limits(F(9), F(11)), F("0.4")) == pytest.approx(risk, abs=5e-6)
    process = global_risk(NormalProcess(float(mean), 0.4), Interval(9.0, 11.0), Interval(9.0, 11.0), 0.1)
    assert process.nonconforming == pytest.approx(risk, abs=5e-6)


@pytest.mark.parametrize(
    ("sigmas", "ratio", "kept", "pfa", "pfr"),
    [
        # Deaver, NCSL paper on guard banding, pp. 7 and 10, in per cent
        (2.0, 4.0, 1.0, 0.8, 1.5),
        (2.0, 2.0, 0.91, 0.8, 6.6),
        (2.5, 4.0, 1.0, 0.25, None),
        (2.5, 1.0, 1.0, 0.5, None),
    ],
)
def test_guard_banding_tables_of_the_calibration_trade(sigmas, ratio, kept, pfa, pfr):
    process = NormalProcess(0.0, 1.0)
    tolerance = Interval(-sigmas, sigmas)
    acceptance = Interval(-kept * sigmas, kept * sigmas)
    risk = global_risk(process, tolerance, acceptance, 1 / ratio)
    assert 100 * risk.false_accept == pytest.approx(pfa, abs=0.006 if pfa == 0.25 else 0.05)
    if pfr is not None:
        assert 100 * risk.false_reject == pytest.approx(pfr, abs=0.05)


@pytest.mark.parametrize(
    ("in_tolerance", "pfa", "conditional"),
    [
        # draft of NCSLI RP-19, tables, per cent: u = process deviation / 4
        (0.60, 4.83860326, 8.26008199),
        (0.70, 3.92234109, 5.72322042),
        (0.80, 2.85583037, 3.63227145),
        (0.90, 1.59995312, 1.79880430),
        (0.95, 0.87100925, 0.92389664),
        (0.99, 0.19991684, 0.20243866),
    ],
)
def test_false_accepts_by_the_share_in_tolerance(in_tolerance, pfa, conditional):
    process = process_from_yield(in_tolerance)
    risk = global_risk(process, ONE, ONE, process.deviation / 4)
    assert 100 * risk.false_accept == pytest.approx(pfa, abs=2e-6)
    assert 100 * risk.conditional_false_accept == pytest.approx(conditional, abs=2e-6)


@pytest.mark.parametrize(
    ("in_tolerance", "ratio", "kept", "pfa", "pfr"),
    [
        # quoted in the tests of a public risk calculator (first two), and recomputed (the others)
        (0.90, 3.0, 1.0, 0.0171415, None),
        (0.90, 3.0, 0.9, 0.0076132, None),
        (0.95, 4.0, 1.0, 0.0085827, 0.0155365),
        (0.80, 2.0, 1.0, 0.0345796, 0.0568765),
        (0.95, 1.0, 1.0, 0.0180116, 0.1295716),
    ],
)
def test_false_accepts_by_uncertainty_ratio(in_tolerance, ratio, kept, pfa, pfr):
    risk = global_risk(process_from_yield(in_tolerance), ONE, Interval(-kept, kept), 1 / (2 * ratio))
    assert risk.false_accept == pytest.approx(pfa, abs=6e-8)
    if pfr is not None:
        assert risk.false_reject == pytest.approx(pfr, abs=6e-8)


@pytest.mark.parametrize(
    ("guard", "at_most"),
    [
        # ILAC-G8:09/2019, table 1: r U with U = 2 u, and the risk it leaves
        ("3", 1e-6),
        ("1.5", 0.0016),
        ("1", 0.025),
        ("0.83", 0.05),
        ("0", 0.50),
    ],
)
def test_the_risk_left_at_the_acceptance_limit(guard, at_most):
    assert 0 < risk_at_acceptance_limit(F(guard)) <= at_most
    if guard != "3":  # there the bound is a round "less than one in a million"
        assert risk_at_acceptance_limit(F(guard) - F("0.1")) > at_most


def test_a_five_per_cent_guard_band_is_the_default_of_the_geometrical_standard():
    # ISO 14253-1:2017: 95 % conformance probability, one-sided 1.6449 u = 0.8224 U (from memory)
    assert guard_band_for_specific_risk(1.0, 0.05) == pytest.approx(1.6449, abs=5e-5)
    assert guard_band_for_specific_risk(0.5, 0.05) == pytest.approx(0.8224, abs=5e-5)


def test_the_uncertainty_ratio_is_exact():
    assert uncertainty_ratio(Limits(F("0.180"), F("0.260")), F("0.0102")) == F("0.08") / F("0.0204")
    assert uncertainty_ratio(Limits(None, F(1)), F("0.1")) is None
    with pytest.raises(ValueError, match="positive"):
        uncertainty_ratio(Limits(F(0), F(1)), F(0))


def test_a_ratio_of_four_with_a_good_process_keeps_false_accepts_below_two_per_cent():
    # ANSI/NCSL Z540.3-2006, 5.3 b: at most 2 %, or 4:1 where that is not practicable
    risks = [global_risk(process_from_yield(p), ONE, ONE, 1 / 8).false_accept for p in (0.80, 0.89, 0.95, 0.99)]
    assert max(risks) < 0.02


@pytest.mark.parametrize(
    ("ratio", "managed", "squares", "full", "relief"),
    [
        # formulas as in a public risk calculator, values recomputed
        (1.5, 0.759882, 0.745356, 0.333333, 0.583333),
        (2.0, 0.859177, 0.866025, 0.500000, 0.750000),
        (2.5, 0.914186, 0.916515, 0.600000, 0.850000),
        (3.0, 0.948227, 0.942809, 0.666667, 0.916667),
        (4.0, 0.986720, 0.968246, 0.750000, 1.000000),
    ],
)
def test_guard_factors_by_uncertainty_ratio(ratio, managed, squares, full, relief):
    methods = ("managed", "root_sum_square", "full_uncertainty", "quarter_relief")
    got = [guard_factor(method, ratio) for method in methods]
    assert got == pytest.approx([managed, squares, full, relief], abs=5e-7)
    assert all(0 <= guard_factor(method, r) <= 1 for method in methods for r in (0.3, 1.0, 50.0))
    with pytest.raises(ValueError, match="positive"):
        guard_factor("managed", 0.0)


@pytest.mark.parametrize("in_tolerance", [0.5, 0.7, 0.9, 0.99])
def test_the_managed_factor_holds_false_accepts_to_two_per_cent_whatever_the_process(in_tolerance):
    for ratio in (1.5, 2.0, 3.0, 4.0):
        kept = guard_factor("managed", ratio)
        risk = global_risk(process_from_yield(in_tolerance), ONE, Interval(-kept, kept), 1 / (2 * ratio))
        assert risk.false_accept < 0.0201


processes = st.builds(NormalProcess, st.floats(-1.5, 1.5), st.floats(0.1, 2.0))
uncertainties = st.floats(0.02, 1.0)


@settings(max_examples=15, deadline=None)
@given(processes, uncertainties)
def test_risks_agree_with_the_bivariate_normal_distribution(process, u):
    # true value and measured value are jointly normal: PFA = P(accepted) - P(good and accepted)
    variance = process.deviation**2
    both = stats.multivariate_normal(
        [process.mean] * 2, [[variance, variance], [variance, variance + u * u]], abseps=1e-10, releps=1e-10
    )
    good_accepted = both.cdf([1.0, 1.0], lower_limit=[-1.0, -1.0])
    measured = stats.norm(process.mean, math.hypot(process.deviation, u))
    accepted = measured.cdf(1.0) - measured.cdf(-1.0)
    risk = global_risk(process, ONE, ONE, u)
    assert risk.false_accept == pytest.approx(accepted - good_accepted, abs=1e-6)
    assert risk.accepted == pytest.approx(accepted, abs=1e-8)
    good = 1 - risk.nonconforming
    assert risk.false_reject == pytest.approx(good - good_accepted, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(processes, uncertainties, st.floats(0, 0.5), st.floats(0, 0.5))
def test_a_wider_guard_band_never_accepts_more_and_never_rejects_less(process, u, band, more):
    narrow = global_risk(process, ONE, ONE.narrowed(band), u)
    wide = global_risk(process, ONE, ONE.narrowed(band + more), u)
    assert wide.false_accept <= narrow.false_accept + 1e-9
    assert wide.false_reject >= narrow.false_reject - 1e-9
    assert wide.accepted <= narrow.accepted + 1e-9


@settings(max_examples=10, deadline=None)
@given(processes, uncertainties, st.sampled_from([0.001, 0.005, 0.02]))
def test_the_guard_band_for_a_target_meets_it_and_is_no_wider_than_needed(process, u, target):
    band = guard_band_for_false_accepts(process, ONE, u, target)
    met = global_risk(process, ONE, ONE.narrowed(band), u).false_accept
    assert met <= target + 1e-9
    if band > 0:
        assert global_risk(process, ONE, ONE.narrowed(band - 1e-4), u).false_accept > target - 1e-9


def test_a_target_that_is_no_probability_is_refused():
    for target in (0.0, 1.0, -0.1):
        with pytest.raises(ValueError, match="risk"):
            guard_band_for_false_accepts(NormalProcess(0, 1), ONE, 0.1, target)


def test_an_acceptance_interval_that_has_closed_accepts_nothing():
    risk = global_risk(NormalProcess(0, 1), ONE, Interval(0.2, -0.2), 0.1)
    assert (risk.false_accept, risk.accepted, risk.conditional_false_accept) == (0, 0, 0)
    assert risk.false_reject == pytest.approx(1 - risk.nonconforming, abs=1e-9)


def test_integrals_agree_with_scipy():
    for function, low, high in ((math.exp, -1.0, 2.0), (lambda x: math.sqrt(abs(x)), -1.0, 1.0)):
        theirs = integrate.quad(function, low, high, points=[0.0], epsabs=1e-12)[0]
        assert integral(function, [low, 0.0, high]) == pytest.approx(theirs, abs=1e-9)
    assert integral(math.exp, [1.0]) == 0
    assert integral(math.exp, []) == 0
