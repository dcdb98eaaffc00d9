from fractions import Fraction
from statistics import mean, stdev

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from inspections.domain.fasteners import (
    NUT_FACTORS,
    SCATTER,
    Band,
    Fastener,
    GradeUnknownError,
    Lubrication,
    TorqueVerdict,
    check_torque,
    clamp_load,
    lubrication_change,
    nut_factor_from_friction,
    proof_load,
    proof_strength,
    torque_for,
)
from inspections.domain.threads import parse_thread, tensile_stress_area

F = Fraction
SIZES = ["1/4-20", "1/2-13", "5/8-11", "3/4-10", "3/4-16", "1-8"]
lubrications = st.sampled_from(list(Lubrication))


def bolt(size="5/8-11", grade="8", lubrication=Lubrication.OILED, factor=None):
    return Fastener(parse_thread(size), grade, lubrication, factor)


CAM_BOLT = bolt()


# SAE J429: proof strength in psi by grade and size.
@pytest.mark.parametrize(
    ("size", "grade", "psi"),
    [
        ("1/4-20", "2", 55_000),
        ("3/4-10", "2", 55_000),
        ("7/8-9", "2", 33_000),
        ("1/4-20", "5", 85_000),
        ("1-8", "5", 85_000),
        ("1 1/8-7", "5", 74_000),
        ("1 1/2-6", "5", 74_000),
        ("1/4-28", "8", 120_000),
        ("1 1/2-12", "8", 120_000),
    ],
)
def test_proof_strength_of_sae_grades_is_the_table_value(size, grade, psi):
    assert proof_strength(parse_thread(size), grade) == psi


# ISO 898-1:2013: stress under proof load in MPa.
@pytest.mark.parametrize(
    ("size", "grade", "mpa"),
    [
        ("M10", "4.6", 225),
        ("M10", "4.8", 310),
        ("M10", "5.6", 280),
        ("M10", "5.8", 380),
        ("M10", "6.8", 440),
        ("M16", "8.8", 580),
        ("M18", "8.8", 600),
        ("M16", "9.8", 650),
        ("M20", "10.9", 830),
        ("M39", "12.9", 970),
    ],
)
def test_proof_strength_of_iso_classes_is_the_table_value(size, grade, mpa):
    assert proof_strength(parse_thread(size), grade) == mpa


@pytest.mark.parametrize(
    ("size", "grade", "word"),
    [
        ("3/4-10", "10.9", "SAE J429"),
        ("M16", "8", "ISO 898-1"),
        ("1 3/4-5", "8", "from 1/4 to 3/2 in"),
        ("#10-24", "5", "from 1/4"),
        ("M20", "9.8", "to 16 mm"),
        ("3/4-10", "", "no grade"),
    ],
)
def test_a_grade_outside_its_table_is_refused(size, grade, word):
    with pytest.raises(GradeUnknownError, match=word):
        proof_load(parse_thread(size), grade)


# Computed from ASME B1.1 areas, not rounded, and SAE J429 strengths (lbf).
@pytest.mark.parametrize(
    ("size", "five", "eight"),
    [
        ("1/2-13", 12_061, 17_028),
        ("1/2-20", 13_596, 19_194),
        ("5/8-11", 19_210, 27_120),
        ("5/8-18", 21_756, 30_715),
        ("3/4-10", 28_429, 40_135),
        ("3/4-16", 31_702, 44_755),
        ("7/8-9", 39_247, 55_408),
        ("1-8", 51_488, 72_689),
        ("1-12", 56_359, 79_565),
    ],
)
def test_proof_loads_of_grade_5_and_8(size, five, eight):
    assert (round(proof_load(parse_thread(size), "5")), round(proof_load(parse_thread(size), "8"))) == (
        five,
        eight,
    )


class TestShigleyExample83:
    """Shigley's Mechanical Engineering Design, 9th edition, example 8-3: 3/4-16 UNF grade 5, preload 25 kip."""

    bolt = bolt("3/4-16", "5", Lubrication.ZINC)

    def test_preload_stress_is_67_02_kpsi(self):
        area = round(tensile_stress_area(self.bolt.thread), 3)  # the example uses the tabulated 0.373 in2
        assert round(F(25) / area, 2) == F("67.02")

    def test_torque_by_nut_factor_is_3750_lbf_in(self):
        assert torque_for(self.bolt, F(25_000), "lbf.in") == 3750

    def test_torque_by_friction_is_3551_lbf_in(self):
        factor = nut_factor_from_friction(self.bolt.thread, F("0.15"), F("0.15"))
        torque = torque_for(bolt("3/4-16", "5", factor=factor), F(25_000), "lbf.in")
        assert round(factor, 4) == F("0.1894")
        assert float(torque) == pytest.approx(3551, abs=0.5)


def test_nut_factors_are_those_of_shigleys_table_8_15():
    assert [float(NUT_FACTORS[state]) for state in Lubrication] == [0.30, 0.20, 0.18, 0.16, 0.12]


def test_the_scatter_covers_the_ten_bolts_of_shigleys_table_8_14():
    # Ten lubricated bolts tightened to 90 N.m: preload in kN. The same torque is not the same preload.
    preloads = [30.3, 32.5, 32.5, 32.9, 32.9, 33.8, 34.3, 34.7, 37.4, 40.5]
    assert round(mean(preloads), 2) == 34.18
    assert round(stdev(preloads), 2) == 2.88
    assert max(abs(p / mean(preloads) - 1) for p in preloads) < float(SCATTER)


# A published dry torque chart (K 0.20, clamp 75 % of proof, tabulated areas; SAE grade 2): lbf, lbf.ft.
@pytest.mark.parametrize(
    ("size", "clamp", "torque"),
    [
        ("1/2-13", 5853, 48.8),
        ("5/8-11", 9323, 97.1),
        ("3/4-10", 13_778, 172),
        ("3/4-16", 15_366, 192),
        ("1-8", 14_999, 250),
    ],
)
def test_three_quarters_of_proof_gives_a_published_torque_chart(size, clamp, torque):
    fastener = bolt(size, "2", Lubrication.ZINC)
    load = proof_load(fastener.thread, "2") * F(3, 4)
    assert float(load) == pytest.approx(clamp, rel=0.0015)
    assert float(torque_for(fastener, load, "lbf.ft")) == pytest.approx(torque, rel=0.003)


@pytest.mark.parametrize(
    ("size", "eight", "five"),
    [
        ("1/2-13", 106.4, 75.4),
        ("5/8-11", 211.9, 150.1),
        ("3/4-10", 376.3, 266.5),
        ("3/4-16", 419.6, 297.2),
        ("1-8", 908.6, 643.6),
    ],
)
def test_three_quarters_of_proof_for_grade_8_and_5(size, eight, five):
    for grade, torque in (("8", eight), ("5", five)):
        fastener = bolt(size, grade, Lubrication.ZINC)
        load = proof_load(fastener.thread, grade) * F(3, 4)
        assert float(torque_for(fastener, load, "lbf.ft")) == pytest.approx(torque, abs=0.05)


def test_a_metric_bolt_has_its_loads_in_newtons_and_agrees_with_pint():
    fastener, registry = bolt("M20x2.5", "10.9"), pint.UnitRegistry()
    torque, diameter = 400 * registry.newton * registry.meter, 20 * registry.mm
    assert fastener.load_unit == "N"
    by_pint = (torque / (0.18 * diameter)).to("newton").magnitude
    assert float(clamp_load(fastener, F(400), "N.m")) == pytest.approx(by_pint, rel=1e-12)


def test_an_inch_bolt_torqued_in_newton_metres_agrees_with_pint():
    registry = pint.UnitRegistry()
    by_pint = (162.7 * registry.newton * registry.meter / (0.18 * 0.625 * registry.inch)).to("force_pound")
    assert float(clamp_load(CAM_BOLT, F("162.7"), "N.m")) == pytest.approx(by_pint.magnitude, rel=1e-12)


@given(st.sampled_from(SIZES), lubrications, st.fractions(min_value=1, max_value=1000))
def test_torque_and_clamp_load_undo_each_other_exactly(size, lubrication, torque):
    fastener = bolt(size, "8", lubrication)
    for unit in ("lbf.ft", "lbf.in", "N.m"):
        assert torque_for(fastener, clamp_load(fastener, torque, unit), unit) == torque


def test_the_worked_example_is_believable():
    check = check_torque(CAM_BOLT, F(120), "lbf.ft")
    assert check.verdict is TorqueVerdict.OK
    assert clamp_load(CAM_BOLT, F(120), "lbf.ft") == 12_800
    assert [round(float(s), 2) for s in (check.least_share, check.expected_share, check.most_share)] == [
        0.36,
        0.47,
        0.67,
    ]
    assert "about 47 % of proof load (36 % to 67 % as friction varies)" in check.message


def test_inch_pounds_typed_as_foot_pounds_are_high_and_the_reverse_low():
    assert check_torque(CAM_BOLT, F(120 * 12), "lbf.ft").verdict is TorqueVerdict.HIGH
    low = check_torque(CAM_BOLT, F(120), "lbf.in")
    assert low.verdict is TorqueVerdict.LOW
    assert "Is the unit right" in low.message


def test_the_ends_of_the_band_belong_to_it():
    check = check_torque(CAM_BOLT, F(120), "lbf.ft")
    for end, beyond, verdict in (
        (check.low, F(-1, 10**9), TorqueVerdict.LOW),
        (check.high, F(1, 10**9), TorqueVerdict.HIGH),
    ):
        assert check_torque(CAM_BOLT, end, "lbf.ft").verdict is TorqueVerdict.OK
        assert check_torque(CAM_BOLT, end + beyond, "lbf.ft").verdict is verdict


def test_a_procedure_may_state_its_own_band_and_nut_factor():
    narrow = Band(least=F("0.70"), most=F("0.80"), scatter=F(0))
    assert check_torque(CAM_BOLT, F(120), "lbf.ft", narrow).verdict is TorqueVerdict.LOW
    slick = bolt(factor=F("0.12"))
    assert clamp_load(slick, F(120), "lbf.ft") == 19_200


@given(st.fractions(min_value=1, max_value=2000), st.fractions(min_value=1, max_value=2000))
def test_more_torque_is_never_judged_lower(one, other):
    order = [TorqueVerdict.LOW, TorqueVerdict.OK, TorqueVerdict.HIGH]
    small, large = sorted((one, other))
    verdicts = [order.index(check_torque(CAM_BOLT, t, "lbf.ft").verdict) for t in (small, large)]
    assert verdicts == sorted(verdicts)


@pytest.mark.parametrize("torque", [F(0), F(-120)])
def test_a_torque_that_is_not_above_zero_is_refused(torque):
    with pytest.raises(ValueError, match="above zero"):
        check_torque(CAM_BOLT, torque, "lbf.ft")


def test_the_spread_of_clamp_load_agrees_with_the_uncertainties_package():
    load = 120 * 12 / (ufloat(0.18, 0.018) * 0.625)  # 10 % on K is 10 % on the clamp load
    assert load.nominal_value == pytest.approx(float(clamp_load(CAM_BOLT, F(120), "lbf.ft")))
    slight = check_torque(CAM_BOLT, F(120), "lbf.ft", Band(scatter=F(1, 1000)))
    half_width = float((slight.most_share - slight.least_share) / 2 / slight.expected_share)
    assert half_width == pytest.approx(load.std_dev / load.nominal_value / 100, rel=1e-5)


def test_anti_seize_on_an_oiled_thread_gives_half_again_the_clamp_load():
    ratio, words = lubrication_change(CAM_BOLT, Lubrication.ANTI_SEIZE, F(120), "lbf.ft")
    assert ratio == F(3, 2)
    assert "71 % of proof load instead of 47 %" in words
    assert "would need 80 lbf.ft" in words
    assert "yielded" not in words


def test_anti_seize_on_a_dry_thread_may_have_yielded_the_bolt():
    dry = bolt("3/4-10", "5", Lubrication.DRY)
    ratio, words = lubrication_change(dry, Lubrication.ANTI_SEIZE, F(300), "lbf.ft")
    assert ratio == F(5, 2)
    assert "not to be used again" in words


@given(lubrications, lubrications)
def test_changing_the_lubrication_there_and_back_changes_nothing(one, other):
    there, _ = lubrication_change(bolt(lubrication=one), other, F(100), "lbf.ft")
    back, _ = lubrication_change(bolt(lubrication=other), one, F(100), "lbf.ft")
    assert there * back == 1


def test_no_friction_leaves_only_the_lead_of_the_thread():
    # T = F P / (2 pi) without friction: the work of one turn.
    from math import pi

    thread = parse_thread("3/4-16")
    factor = nut_factor_from_friction(thread, F(0), F(0))
    assert float(factor) == pytest.approx(1 / 16 / (2 * pi) / 0.75, rel=1e-12)


def test_a_friction_above_one_is_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        nut_factor_from_friction(parse_thread("3/4-16"), F(2), F(0))


# Common practice, no source: lifting gear good for at least 500 lb.
def test_one_half_inch_grade_5_bolt_carries_lifting_gear_for_500_pounds():
    assert proof_load(parse_thread("1/2-13"), "5") > 20 * 500
