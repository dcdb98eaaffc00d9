"""Calculations over HTTP: published and worked values come out, nonsense is answered with its place and its cure."""

import time
from typing import Any

import pytest

from tests.api.calculating import answer, pointers
from tests.record import Caller, Record

BOLT = {"thread": "5/8-11", "grade": "8", "lubrication": "oiled", "target": {"text": "120", "unit": "lbf.ft"}}
INCH = {"text": "18", "unit": "in"}


def test_the_cam_bolts_torque_is_believable_and_loads_it_to_half_of_proof(standing: Record) -> None:
    found = answer(standing, "torque_checks", BOLT)
    assert found["verdict"] == "ok"
    assert (found["clamp_load"], found["load_unit"]) == ("12800", "lbf")
    assert found["proof_load"] == "27120"
    assert found["share_of_proof"][1] == "47.2"


def test_inch_pounds_typed_as_foot_pounds_are_asked_about(standing: Record) -> None:
    assert (
        answer(standing, "torque_checks", {**BOLT, "target": {"text": "1440", "unit": "lbf.ft"}})["verdict"] == "high"
    )
    assert answer(standing, "torque_checks", {**BOLT, "target": {"text": "120", "unit": "lbf.in"}})["verdict"] == "low"


def test_an_extension_changes_what_the_wrench_is_set_to_and_its_range_is_watched(standing: Record) -> None:
    """US Army TM 9-254, figure 4-5: a 12 in wrench with 2 in of extension set to 60 applies 70."""
    extension = {"wrench": {"text": "12", "unit": "in"}, "length": {"text": "2", "unit": "in"}, "angle": "0"}
    body = {**BOLT, "target": {"text": "70", "unit": "lbf.ft"}, "extension": extension}
    found = answer(standing, "torque_checks", {**body, "full_scale": {"text": "250", "unit": "lbf.ft"}})
    assert found["wrench"] == {"setting": "60.0", "usable": True, "message": None}
    small = answer(standing, "torque_checks", {**body, "full_scale": {"text": "600", "unit": "lbf.ft"}})
    assert not small["wrench"]["usable"]
    assert small["wrench"]["message"]


def test_anti_seize_on_a_thread_meant_to_be_oiled_clamps_half_as_much_again(standing: Record) -> None:
    found = answer(standing, "torque_checks", {**BOLT, "actual_lubrication": "anti_seize"})
    assert found["lubrication_change"]["ratio"] == "1.500"
    assert "71 %" in found["lubrication_change"]["message"]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"thread": "½-13"}, "/thread"),
        ({"thread": "10-32"}, "/thread"),
        ({"thread": "4-40"}, "/thread"),
        ({"grade": "9"}, "/grade"),
        ({"lubrication": "butter"}, "/lubrication"),
        ({"target": {"text": "0", "unit": "lbf.ft"}}, "/target"),
        ({"target": {"text": "-0", "unit": "lbf.ft"}}, "/target/text"),
        ({"target": {"text": "1e400", "unit": "lbf.ft"}}, "/target/text"),
        ({"target": {"text": "120", "unit": "in"}}, "/target/unit"),
        ({"nut_factor": "0"}, "/nut_factor"),
        ({"extension": {"wrench": INCH, "length": {"text": "-2", "unit": "in"}, "angle": "0"}}, "/extension"),
        ({"full_scale": {"text": "0", "unit": "lbf.ft"}}, "/full_scale"),
        ({"full_scale": 250}, "/full_scale"),
    ],
)
def test_a_torque_check_says_where_it_makes_no_sense(standing: Record, change: dict[str, Any], pointer: str) -> None:
    assert pointers(standing, "torque_checks", {**BOLT, **change}) == [pointer]


TURN = {
    "thread": "3/4-16",
    "grade": "5",
    "lubrication": "zinc",
    "snug": {"text": "600", "unit": "lbf.in"},
    "angle": {"text": "30", "unit": "deg"},
    "bolt_stiffness": "6500000",
    "member_stiffness": "13800000",
}


def test_a_turn_past_snug_clamps_by_torque_and_by_stretch_and_comes_with_its_caution(standing: Record) -> None:
    """Shigley, 9th edition, example 8-3: the stiffnesses of bolt and members; 600 / (0.20 x 0.75) = 4000 lbf."""
    found = answer(standing, "turn_angles", TURN)
    assert (found["snug_load"], found["turn_load"], found["clamp_load"]) == ("4000", "23014", "27014")
    assert (found["may_yield"], found["degrees_to_proof"]) == (False, "36.1")
    assert "maker counts before" in found["message"]
    assert (
        answer(standing, "turn_angles", {**TURN, "angle": {"text": "0.083333", "unit": "turn"}})["turn_load"] == "23014"
    )
    assert answer(standing, "turn_angles", {**TURN, "angle": {"text": "1/4", "unit": "turn"}})["may_yield"] is True


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"angle": {"text": "-30", "unit": "deg"}}, "/angle"),
        ({"angle": {"text": "30", "unit": "in"}}, "/angle"),
        ({"angle": {"text": "½", "unit": "turn"}}, "/angle"),
        ({"bolt_stiffness": "0"}, "/angle"),
        ({"member_stiffness": "1e400"}, "/member_stiffness"),
        ({"snug": {"text": "50", "unit": "lb"}}, "/snug/unit"),
        ({"thread": "4-40"}, "/thread"),
        ({"grade": "10.9"}, "/grade"),
    ],
)
def test_a_turn_angle_says_where_it_makes_no_sense(standing: Record, change: dict[str, Any], pointer: str) -> None:
    assert pointers(standing, "turn_angles", {**TURN, **change}) == [pointer]


SCREW = {"thread": "3/4-10", "taper": "10", "turns": "1 1/4"}


def test_a_turn_and_a_quarter_back_opens_an_eighth_of_a_tenth(standing: Record) -> None:
    found = answer(standing, "adjustments", {**SCREW, "clearance": {"text": "0.015", "unit": "in"}})
    assert (found["travel"], found["clearance"]) == ("0.125", "0.0125")
    assert (found["clearance_from"], found["clearance_to"]) == ("0.011667", "0.013333")
    assert found["turns_for_clearance"] == "1 1/2"
    assert "5 quarter turns" in found["instruction"]


def test_a_play_that_the_turns_do_not_give_is_said_to_be_what_other_turns_give(standing: Record) -> None:
    play = {"play": {"text": "0.004", "unit": "in"}, "play_uncertainty": {"text": "0.001", "unit": "in"}}
    found = answer(standing, "adjustments", {**SCREW, **play})
    assert not found["play"]["agrees"]
    assert found["play"]["turns"] == "0.40"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"turns": "-1"}, "/turns"),
        ({"taper": "0"}, "/turns"),
        ({"taper": "2/0"}, "/taper"),
        ({"thread": "M"}, "/thread"),
    ],
)
def test_an_adjustment_says_where_it_makes_no_sense(standing: Record, change: dict[str, Any], pointer: str) -> None:
    assert pointers(standing, "adjustments", {**SCREW, **change}) == [pointer]


SHIMS = {
    "unit": "in",
    "gap": "0.075",
    "nominal": "0.030",
    "thicknesses": ["0.010", "0.015", "0.025", "0.050"],
    "most": 4,
}


def test_every_best_stack_is_named_and_the_stock_is_heeded(standing: Record) -> None:
    found = answer(standing, "shim_stacks", {**SHIMS, "lower": "0.015", "upper": "0.045"})
    assert [stack["shims"] for stack in found["stacks"]] == [["0.025", "0.01", "0.01"], ["0.015", "0.015", "0.015"]]
    assert found["within_limits"]
    stock = [{"thickness": "0.015", "count": 2}, {"thickness": "0.050", "count": 9}]
    scarce = answer(standing, "shim_stacks", {**SHIMS, "stock": stock})
    assert [stack["shims"] for stack in scarce["stacks"]] == [["0.05"]]


def test_too_many_stacks_and_shims_of_no_thickness_are_refused(standing: Record) -> None:
    sizes = [f"0.0{at + 10}" for at in range(20)]
    assert pointers(standing, "shim_stacks", {**SHIMS, "thicknesses": sizes, "most": 20}) == ["/gap"]
    assert pointers(standing, "shim_stacks", {**SHIMS, "thicknesses": ["0"]}) == ["/gap"]
    assert pointers(standing, "shim_stacks", {**SHIMS, "thicknesses": ["½", "NaN"]}) == [
        "/thicknesses/0",
        "/thicknesses/1",
    ]


FEELER = {
    "kind": "feeler_set",
    "unit": "in",
    "figures": {"bracket_step": "0.010", "blade": "0.001", "feel": "0.003", "face": "0.005"},
    "step": "0.0001",
}


def test_the_feeler_sets_budget_can_be_printed(standing: Record) -> None:
    found = answer(standing, "uncertainty_budgets", FEELER)
    assert found["expanded"] == "0.0102"
    assert found["effective_degrees"] is None
    assert "U = 0.0102 in (k = 2, rounded up)" in found["table"]
    assert [line["name"] for line in found["lines"]] == ["bracket, half a step", "blade thickness", "feel", "face"]


@pytest.mark.parametrize("kind", ["caliper", "bore_gauge", "depth_gauge", "dial", "torque_wrench"])
def test_every_kind_of_instrument_has_a_budget(standing: Record, kind: str) -> None:
    from inspections.api.uncertainty_calculations import BUDGETS

    figures = dict.fromkeys(BUDGETS[kind].figures, "0.001")
    unit = "lbf.ft" if kind == "torque_wrench" else "in"
    body = {"kind": kind, "unit": unit, "figures": figures, "count": 10, "step": "0.0001"}
    found = answer(standing, "uncertainty_budgets", body)
    assert float(found["expanded"]) > 0
    assert round(sum(line["share"] for line in found["lines"]), 2) == 1


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"figures": {"blade": "0.001"}}, ["/figures/bracket_step", "/figures/feel", "/figures/face"]),
        ({"figures": {**FEELER["figures"], "colour": "1"}}, ["/figures/colour"]),
        ({"figures": {**FEELER["figures"], "feel": "-0.003"}}, ["/figures"]),
        ({"step": "0"}, ["/step"]),
        ({"unit": "kg"}, ["/unit"]),
        ({"kind": "ruler"}, ["/kind"]),
    ],
)
def test_a_budget_says_where_it_makes_no_sense(standing: Record, change: dict[str, Any], expected: list[str]) -> None:
    assert pointers(standing, "uncertainty_budgets", {**FEELER, **change}) == expected


RISK = {"unit": "in", "lower": "0", "upper": "2", "uncertainty": "0.25510672902", "in_tolerance": "0.9544997361"}


def test_the_risks_of_simple_acceptance_are_the_published_ones(standing: Record) -> None:
    """Tolerance of two standard deviations of the process, sigma four times u: PFA 0.8 %, PFR 1.5 % (Deaver, NCSL)."""
    found = answer(standing, "decision_risks", {**RISK, "uncertainty": "0.25"})
    simple, guarded = found["rules"]
    assert found["test_uncertainty_ratio"] == "4.00"
    assert round(simple["consumers_risk"], 3) == 0.008
    assert round(simple["producers_risk"], 3) == 0.015
    assert guarded["consumers_risk"] < simple["consumers_risk"]
    assert guarded["producers_risk"] > simple["producers_risk"]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"upper": "0"}, "/upper"),
        ({"uncertainty": "0"}, "/uncertainty"),
        ({"in_tolerance": "1"}, "/in_tolerance"),
        ({"guard": "99"}, "/guard"),
    ],
)
def test_a_risk_says_where_it_makes_no_sense(standing: Record, change: dict[str, Any], pointer: str) -> None:
    assert pointers(standing, "decision_risks", {**RISK, **change}) == [pointer]


def test_nobody_calculates_without_a_token(standing: Record) -> None:
    assert Caller(None).post("/v1/calculations/torque_checks", BOLT).status_code == 401


def test_a_budget_whose_repeatability_hardly_matters_is_reckoned_at_once(standing: Record) -> None:
    figures = {"resolution": "0.001", "limit_of_error": "0.005", "deviation": "0.0000001", "alignment": "0"}
    body = {"kind": "caliper", "unit": "in", "figures": figures, "count": 10, "step": "0.0001"}
    started = time.perf_counter()
    assert answer(standing, "uncertainty_budgets", body)["coverage_factor_95"] == 1.96
    assert time.perf_counter() - started < 2


def test_turns_that_nobody_can_count_are_decimals_and_no_play_is_found_under_a_screw_turned_in(
    standing: Record,
) -> None:
    wanted = {**SCREW, "clearance": {"text": "0.3", "unit": "mm"}}
    assert answer(standing, "adjustments", wanted)["turns_for_clearance"] == "1.18"
    pressed = {**SCREW, "direction": "in_from_contact", "play": {"text": "0.004", "unit": "in"}}
    assert pointers(standing, "adjustments", pressed) == ["/play"]
