"""Calculations over HTTP: published and worked values come out, nonsense is answered with its place and its cure."""

from typing import Any

import pytest

from shops.domain.access import Role
from tests.record import Record


def ask(record: Record, kind: str, body: dict[str, Any]) -> Any:
    return record.as_role(Role.TECHNICIAN).post(f"/v1/calculations/{kind}", body)


def answer(record: Record, kind: str, body: dict[str, Any]) -> dict[str, Any]:
    found = ask(record, kind, body)
    assert found.status_code == 200, found.content
    document: dict[str, Any] = found.json()
    return document


def pointers(record: Record, kind: str, body: dict[str, Any]) -> list[str]:
    found = ask(record, kind, body)
    assert found.status_code == 400, found.content
    errors = found.json()["errors"]
    assert all(error["detail"] and error["cure"] for error in errors)
    return [error["pointer"] for error in errors]


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


PIN = {
    "unit": "in",
    "angles": [0, 45, 90, 135],
    "depths": ["0.5"],
    "diameters": [["1.503", "1.548", "1.566", "1.531"]],
    "pin": ["1.490"],
    "length": "3",
    "nominal_bore": "1.500",
    "nominal_pin": "1.495",
    "arm": "6",
}


def test_a_pulled_bore_lets_the_part_tilt(standing: Record) -> None:
    found = answer(standing, "pin_fits", PIN)
    assert (found["largest_clearance"], found["movement"], round(found["tilt_degrees"], 2)) == ("0.076", "0.152", 1.44)
    assert found["bore"]["elongation"] == "0.063"
    assert (found["bore"]["direction"], found["bore"]["wear"]) == (90, "0.066")
    assert found["bore"]["taper"] is None
    assert round(found["bore"]["shapes"][0]["oval"]["elongation"], 4) == 0.0653


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"pin": []}, "/pin"),
        ({"length": "0"}, "/pin"),
        ({"diameters": [["1.503"]]}, "/diameters"),
        ({"angles": [0, 0, 90, 135]}, "/diameters"),
        ({"depths": []}, "/diameters"),
    ],
)
def test_a_fit_says_where_it_makes_no_sense(standing: Record, change: dict[str, Any], pointer: str) -> None:
    assert pointers(standing, "pin_fits", {**PIN, **change}) == [pointer]


def test_nine_degrees_fahrenheit_between_the_faces_bow_a_plate_by_fifteen_thousandths(standing: Record) -> None:
    body = {"unit": "in", "difference": {"text": "9", "unit": "delta_degF"}, "length": "32", "thickness": "0.5"}
    assert answer(standing, "thermal_bows", body)["bow"] == "0.01498"
    wrong = {**body, "difference": {"text": "74", "unit": "degF"}}
    assert pointers(standing, "thermal_bows", wrong) == ["/difference"]
    assert pointers(standing, "thermal_bows", {**body, "thickness": "0"}) == ["/thickness"]


def test_a_metre_of_steel_read_ten_degrees_warm_is_a_tenth_of_a_millimetre_shorter(standing: Record) -> None:
    body = {"reading": {"text": "1000", "unit": "mm"}, "part_temperature": {"text": "30", "unit": "degC"}}
    assert answer(standing, "warm_lengths", body) == {"length": "999.883", "correction": "-0.117", "unit": "mm"}
    assert pointers(standing, "warm_lengths", {**body, "part_temperature": {"text": "900", "unit": "degC"}}) == [
        "/part_temperature"
    ]


def points(*triples: tuple[str, str, str]) -> dict[str, Any]:
    return {"unit": "in", "points": [{"x": x, "y": y, "z": z} for x, y, z in triples]}


def test_a_twisted_plate_is_as_flat_as_its_twist(standing: Record) -> None:
    """A facet search gives 0.20 here; the exact minimum zone is 0.10."""
    found = answer(standing, "flatness", points(("0", "0", "0.1"), ("1", "0", "0"), ("0", "1", "0"), ("1", "1", "0.1")))
    assert (found["minimum_zone"], found["shape"]) == ("0.1", "twisted")


@pytest.mark.parametrize(
    "body",
    [
        points(("0", "0", "0"), ("1", "0", "0"), ("2", "0", "0")),
        points(("0", "0", "0"), ("1", "0", "0"), ("2", "0", "0"), ("3", "0", "0")),
        points(("0", "0", "0"), ("1", "0", "0"), ("0", "1", "0"), ("0", "0", "1")),
        points(*(((str(at), str(at * at % 97), "0")) for at in range(1_000))),
    ],
    ids=["three on a line", "four on a line", "one place twice", "a thousand"],
)
def test_points_that_show_no_plate_are_refused_with_the_reason(standing: Record, body: dict[str, Any]) -> None:
    assert pointers(standing, "flatness", body) == ["/points"]


def test_ten_thousand_points_are_too_large_a_body(standing: Record) -> None:
    body = points(*((str(at), str(at * at % 97), "0") for at in range(10_000)))
    assert ask(standing, "flatness", body).status_code == 413


def placed(*lines: tuple[tuple[str, str, str], ...]) -> dict[str, Any]:
    stations = [[{"x": x, "y": y, "gap": gap} for x, y, gap in line] for line in lines]
    return {"unit": "in", "placements": [{"stations": line} for line in stations]}


def test_gaps_under_a_straightedge_give_the_flatness_and_not_the_largest_gap(standing: Record) -> None:
    found = answer(
        standing,
        "straightedge_flatness",
        placed(
            (("0", "0", "0"), ("8", "9", ".004"), ("16", "18", "0")),
            (("16", "0", "0"), ("8", "9", ".004"), ("0", "18", "0")),
            (("0", "0", "0"), ("8", "0", ".003"), ("16", "0", "0")),
            (("0", "18", "0"), ("8", "18", ".003"), ("16", "18", "0")),
            (("0", "0", "0"), ("0", "9", ".002"), ("0", "18", "0")),
            (("16", "0", "0"), ("16", "9", ".002"), ("16", "18", "0")),
        ),
    )
    assert found["largest_gap"] == "0.004"
    assert found["plate"]["minimum_zone"] == "0.004"
    assert found["closure"] is None


def test_one_position_of_the_straightedge_shows_no_flatness(standing: Record) -> None:
    body = placed((("0", "0", "0"), ("8", "0", ".003"), ("16", "0", "0")))
    assert pointers(standing, "straightedge_flatness", body) == ["/placements"]
    crooked = placed((("0", "0", "0"), ("8", "1", "-.003"), ("16", "0", "0")), (("0", "0", "0"), ("0", "9", "0")))
    assert pointers(standing, "straightedge_flatness", crooked) == ["/placements"]


def test_the_published_six_points_have_the_published_circle(standing: Record) -> None:
    """Gander, Golub and Strebel, BIT 34 (1994): centre 4.739782, 2.983533, radius 4.714226."""
    six = [("1", "7"), ("2", "6"), ("5", "8"), ("7", "7"), ("9", "5"), ("3", "7")]
    body = {"unit": "mm", "points": [{"x": x, "y": y} for x, y in six]}
    assert pointers(standing, "roundness", body) == ["/points"]  # all on one half: no minimum zone
    whole = [*six, ("4.739782", "-1.730693")]
    found = answer(standing, "roundness", {"unit": "mm", "points": [{"x": x, "y": y} for x, y in whole]})
    assert round(found["least_squares"]["radius"], 3) == 4.714
    assert found["minimum_zone"]["roundness"] <= found["least_squares"]["roundness"]


WEAR = {
    "unit": "in",
    "distance_unit": "mi",
    "points": [
        {"distance": str(10_000 * at), "play": play} for at, play in enumerate(("0.013", "0.018", "0.024", "0.029"))
    ],
    "limit": "0.060",
}


def test_wear_says_how_far_it_is_and_how_sure_it_is(standing: Record) -> None:
    found = answer(standing, "wear", WEAR)
    assert found["status"] == "wearing"
    assert 0 < found["distance_left"] < 60_000
    surer = answer(standing, "wear", {**WEAR, "confidence": "0.99"})
    assert surer["distance_left"] < found["distance_left"]


def test_two_readings_are_too_few_for_a_rate_of_wear(standing: Record) -> None:
    found = answer(standing, "wear", {**WEAR, "points": WEAR["points"][:2]})
    assert (found["status"], found["distance_left"], found["slope"]) == ("too_few_points", None, None)
    assert found["message"].startswith("Too few points: 2.")


@pytest.mark.parametrize(
    ("change", "pointer"),
    [({"confidence": "1"}, "/confidence"), ({"unit": "mi"}, "/unit"), ({"distance_unit": "in"}, "/distance_unit")],
)
def test_wear_says_where_it_makes_no_sense(standing: Record, change: dict[str, Any], pointer: str) -> None:
    assert pointers(standing, "wear", {**WEAR, **change}) == [pointer]


def test_nobody_calculates_without_a_token(standing: Record) -> None:
    from tests.record import Caller

    assert Caller(None).post("/v1/calculations/torque_checks", BOLT).status_code == 401
