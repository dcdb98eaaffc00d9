"""Grids and bores from the JSON of an entry to a verdict."""

import dataclasses

from inspections.domain.characteristic import DecisionRule, Limits, RuleKind
from inspections.domain.judging import Side, Verdict, judge
from inspections.domain.typed_reading import read_typed
from tests.domain.judging_world import BORE, FLATNESS, F, U, bore, codes, grid


def test_a_clean_plate_and_a_condemned_one():
    clean = grid(".001 .003 .008 .011 .005 / .002 .010 .008 .009 .006 / .000 .000 .011 .010 .007")
    bent = grid(".019 .014 .011 .019 .037 / .004 .010 .007 .008 .034 / .009 .001 .000 .010 .028")
    assert round(float(judge(FLATNESS, clean, U).value), 4) == 0.0096
    assert round(float(judge(FLATNESS, bent, U).value), 4) == 0.0210
    assert judge(FLATNESS, bent, U).verdict is Verdict.PASS
    assert "the minimum zone of 15 typed values" in judge(FLATNESS, clean, U).explanation


def test_a_plate_in_millimetres_is_as_flat_as_in_inches():
    inches = grid("0 0 0 / 0 .1 0 / 0 0 0", x=("0", "8", "16"))
    metric = grid("0 0 0 / 0 2.54 0 / 0 0 0", unit="mm", x=("0", "203.2", "406.4"), y=("0", "228.6", "457.2"))
    nine = dataclasses.replace(FLATNESS, cells=9)
    assert judge(nine, inches, None).value == judge(nine, metric, None).value == F("0.1")
    assert judge(nine, inches, None).side is Side.ABOVE


def test_an_incomplete_grid_is_not_judged_and_says_where():
    full = "0 0 0 0 0 / 0 0 0 0 0 / 0 0 0 0 0"
    for text, where in (
        ("0 0 0 0 0 / 0 0 0 0 0", "2 rows"),
        ("0 0 0 0 0 / 0 0 0 0 / 0 0 0 0 0", "Row 2"),
    ):
        judgement = judge(FLATNESS, grid(text), U)
        assert codes(judgement) == ["grid_incomplete"]
        assert where in judgement.problems[0].message
    document = {"x": list("01234"), "y": list("012"), "unit": "in"}
    rows = [row.split() for row in full.split("/")]
    rows[1][3] = None
    hole = read_typed({"characteristic": "flatness", "grid": {**document, "z": rows}})
    assert "row 2, place 4" in judge(FLATNESS, hole, U).problems[0].message
    assert codes(judge(FLATNESS, read_typed({"characteristic": "flatness"}), U)) == ["grid_incomplete"]


def test_fewer_points_than_asked_for_can_fail_but_never_pass():
    flat = grid("0 0 0 / 0 0 0 / 0 0 0", x=("0", "8", "16"))
    bent = grid("0 0 0 / 0 .1 0 / 0 0 0", x=("0", "8", "16"))
    assert codes(judge(FLATNESS, flat, U)) == ["grid_incomplete"]
    assert judge(FLATNESS, bent, U).verdict is Verdict.FAIL
    assert codes(judge(BORE, bore("1.5 1.5 1.5 1.5"), U)) == ["bore_incomplete"]
    assert judge(BORE, bore("1.503 1.548 1.566 1.531"), U).value == F("0.063")
    assert judge(BORE, bore("1.503 1.548 1.566 1.531"), U).side is Side.ABOVE


def test_geometry_that_cannot_be_judged_says_so_in_its_own_words():
    one_place = grid("0 0 0 / 0 0 0 / 0 0 0", x=("0", "0", "0"))
    line = grid("0 0 0 0 0", y=("0",))
    for reading in (one_place, line):
        judgement = judge(FLATNESS, reading, U)
        assert judgement.verdict is Verdict.NONE
        assert judgement.problems[0].cure


def test_a_grid_in_the_wrong_unit_is_one_question_not_fifteen():
    fifteen = " / ".join(["5 5 5 5 5"] * 3)
    wary = dataclasses.replace(FLATNESS, cell_lower=F(0), cell_upper=F("0.5"))
    assert codes(judge(wary, grid(fifteen), U)) == ["implausible_unit"]
    bowed = grid("0 0 0 0 0 / 0 0 1.5 0 0 / 0 0 0 0 0")
    wary = dataclasses.replace(FLATNESS, plausible_lower=F(0), plausible_upper=F("0.5"))
    judgement = judge(wary, bowed, U)
    assert codes(judgement) == ["implausible_unit"]
    assert "1.5 mm is 0.059 in" in judgement.problems[0].message


def test_a_bore_at_four_angles_and_two_depths():
    worn = bore("1.503 1.508 1.507 1.505", "1.502 1.503 1.504 1.502")
    judgement = judge(BORE, worn, U)
    assert (judgement.verdict, judgement.value) == (Verdict.PASS, F("0.005"))
    assert judge(BORE, worn, U, F("0.1")).value == F("0.005")  # an offset of the gauge cancels
    assert codes(judge(BORE, bore("1.5 1.5 1.5", "1.5 1.5 1.5 1.5"), U)) == ["bore_incomplete"]


def test_an_offset_of_the_gauge_never_makes_a_plate_flatter():
    bowed = grid("0 0 0 0 0 / .01 .02 .03 .02 .01 / 0 0 0 0 0")
    plain = judge(FLATNESS, bowed, U).value
    assert judge(FLATNESS, bowed, U, F("0.006")).value == plain + F("0.006")
    assert judge(FLATNESS, bowed, U, F("-0.006")).value >= plain


def test_a_difference_of_readings_is_less_certain_than_one_reading():
    guarded = dataclasses.replace(BORE, rule=DecisionRule(RuleKind.GUARDED), cells=None)
    edge = bore("1.500 1.500 1.517 1.500")  # 0.013 inside the limit: more than U, less than sqrt(2) U
    assert judge(guarded, edge, U).verdict is Verdict.CONDITIONAL
    assert judge(guarded, bore("1.500 1.500 1.515 1.500"), U).verdict is Verdict.PASS


def test_too_few_heights_do_not_fail_for_being_too_flat():
    bowed = dataclasses.replace(FLATNESS, limits=Limits(F("0.010"), None))  # what is missing could only add to it
    judgement = judge(bowed, grid("0 0 0/0 0.001 0", x=("0", "8", "16"), y=("0", "9")), U)
    assert judgement.verdict is Verdict.NONE
    assert codes(judgement) == ["grid_incomplete"]
