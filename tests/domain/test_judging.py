"""From the JSON of an entry to a verdict and its paragraph."""

import dataclasses
import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.characteristic import Characteristic, DecisionRule, Limits, Method, RuleKind
from inspections.domain.judging import Judgement, Side, Verdict, judge
from inspections.domain.quantities import QuantityError
from inspections.domain.typed_reading import MOST_CELLS, TypedReadingError, read_typed

F = Fraction
U = F("0.0102")
SIMPLE = DecisionRule(RuleKind.SIMPLE)
GAP = Characteristic(
    "jaw-gap",
    "Jaw gap",
    "length",
    "in",
    Method.SINGLE,
    Limits(F("0.180"), F("0.260")),
    DecisionRule(RuleKind.GUARDED),
    nominal=F("0.220"),
    plausible_lower=F("0.05"),
    plausible_upper=F("0.60"),
)
FLATNESS = Characteristic(
    "flatness", "Flatness", "length", "in", Method.FLATNESS_GRID, Limits(None, F("0.060")), SIMPLE, cells=15
)
BORE = Characteristic(
    "bore", "Bore elongation", "length", "in", Method.BORE, Limits(None, F("0.030")), SIMPLE, cells=8
)
PIECES = Characteristic("pieces", "Pieces", "count", "1", Method.COUNT, Limits(F(19), F(19)), SIMPLE)


def gap(*texts, unit="in"):
    return read_typed({"characteristic": "jaw-gap", "values": [{"text": t, "unit": unit} for t in texts]})


def grid(text, unit="in", x=("0", "8", "16", "24", "32"), y=("0", "9", "18")):
    rows = [row.split() for row in text.split("/")]
    return read_typed(
        {"characteristic": "flatness", "grid": {"x": list(x), "y": list(y), "z": rows, "unit": unit}}
    )


def bore(*rows, unit="in", angles=(0, 45, 90, 135)):
    depths = ["0.5", "1.5"][: len(rows)]
    document = {
        "angles": list(angles),
        "depths": depths,
        "diameters": [r.split() for r in rows],
        "unit": unit,
    }
    return read_typed({"characteristic": "bore", "bore": document})


def pieces(text, unit=None):
    value = {"text": text} if unit is None else {"text": text, "unit": unit}
    return read_typed({"characteristic": "pieces", "values": [value]})


def codes(judgement):
    return [problem.code for problem in judgement.problems]


def test_the_median_of_three_readings_is_judged():
    judgement = judge(GAP, gap(".218", ".221", ".219"), U)
    assert (judgement.verdict, judgement.value, judgement.side) == (Verdict.PASS, F("0.219"), None)
    assert judgement.problems == ()
    assert judgement.probability > 0.999


@pytest.mark.parametrize(
    ("text", "verdict", "side"),
    [
        (".156", Verdict.FAIL, Side.BELOW),
        (".284", Verdict.FAIL, Side.ABOVE),
        (".180", Verdict.CONDITIONAL, None),
        (".187", Verdict.CONDITIONAL, None),
        ("3/16", Verdict.CONDITIONAL, None),
        (".178", Verdict.FAIL, Side.BELOW),
        (".249", Verdict.PASS, None),
        (".199", Verdict.PASS, None),
        ("7/32", Verdict.PASS, None),
        ("0,22", Verdict.PASS, None),
    ],
)
def test_a_guarded_gap_passes_is_conditional_or_fails(text, verdict, side):
    judgement = judge(GAP, gap(text), U)
    assert (judgement.verdict, judgement.side) == (verdict, side)


def test_millimetres_are_judged_as_the_inches_they_are():
    assert judge(GAP, gap("5.6", unit="mm"), U).value == F("5.6") / F("25.4")
    at_limit = judge(GAP, gap("4.572", unit="mm"), U)
    assert (at_limit.verdict, at_limit.value) == (Verdict.CONDITIONAL, F("0.18"))
    assert judge(GAP, gap("4.571", unit="mm"), U).verdict is Verdict.FAIL


def test_a_bias_found_later_moves_the_value_that_is_judged():
    # the blades were 0.006 in thinner than marked: true = recorded - 0.006
    recorded = (".186", ".193", ".220", ".225", ".231", ".184", ".255", ".205", ".248")
    got = [judge(GAP, gap(text), U, F("-0.006")) for text in recorded]
    assert [str(float(j.value)) for j in got] == (
        ["0.18", "0.187", "0.214", "0.219", "0.225", "0.178", "0.249", "0.199", "0.242"]
    )
    assert [j.verdict.value[0] for j in got] == list("ccpppfppp")
    assert "true is 0.006 in less than recorded, that is 0.178 in" in got[5].explanation


def test_what_is_believable_only_in_another_unit_becomes_a_question():
    judgement = judge(GAP, gap("5.6"), U)
    assert (judgement.verdict, judgement.value, judgement.side) == (Verdict.NONE, None, None)
    assert codes(judgement) == ["implausible_unit"]
    assert judgement.problems[0].message == "5.6 in? 5.6 mm is 0.220 in."
    assert "5.6 mm" in judgement.problems[0].cure
    assert codes(judge(GAP, gap(".22", unit="mm"), U)) == ["implausible_unit"]
    assert "220 thou is 0.220 in" in judge(GAP, gap("220"), U).problems[0].message


def test_what_is_believable_in_no_unit_is_sent_back():
    judgement = judge(GAP, gap("99999"), U)
    assert codes(judgement) == ["implausible"]
    assert "0.05 in to 0.6 in" in judgement.problems[0].message


def test_a_number_without_a_unit_is_asked_about():
    judgement = judge(GAP, gap("5.6", unit=""), U)
    assert codes(judgement) == ["unit_missing"]
    assert "5.6 mm is 0.220 in" in judgement.problems[0].message
    assert judgement.problems[0].cure == "State the unit: mm?"
    assert judge(GAP, gap(".22", unit=""), U).problems[0].cure == "State the unit: in or cm?"


@pytest.mark.parametrize(
    ("text", "unit", "code"),
    [
        ("½", "in", "unreadable"),
        ("NaN", "in", "unreadable"),
        ("1e400", "in", "unreadable"),
        ("2/0", "in", "unreadable"),
        ("-0", "in", "unreadable"),
        ("", "in", "unreadable"),
        ("x", "", "unreadable"),
        ("1,234", "in", "ambiguous"),
        (".22 mm", "in", "ambiguous"),
        (".22", "lbf.ft", "wrong_dimension"),
        (".22", "km", "wrong_dimension"),
        (".22", "cubits", "unit_unknown"),
    ],
)
def test_nonsense_is_not_judged_and_says_why(text, unit, code):
    judgement = judge(GAP, gap(text, unit=unit), U)
    assert judgement.verdict is Verdict.NONE
    assert codes(judgement) == [code]
    assert judgement.problems[0].message in judgement.explanation
    assert judgement.problems[0].cure in judgement.explanation


def test_every_unreadable_repeat_is_named_at_once():
    assert codes(judge(GAP, gap("½", ".22", "5.6"), U)) == ["unreadable", "implausible_unit"]


def test_missing_repeats_are_asked_for():
    three = dataclasses.replace(GAP, repeats=3)
    assert codes(judge(three, gap(".218", ".221"), U)) == ["repeats_missing"]
    assert codes(judge(GAP, read_typed({"characteristic": "jaw-gap"}), U)) == ["repeats_missing"]
    assert judge(three, gap(".218", ".221", ".219", ".220"), U).value == F("0.2195")


def test_repeats_that_disagree_are_taken_again():
    judgement = judge(GAP, gap(".200", ".250"), U)
    assert codes(judgement) == ["repeats_disagree"]
    assert judgement.problems[0].cure == "Take again."
    tight = dataclasses.replace(GAP, repeat_range=F("0.003"))
    assert judge(tight, gap(".218", ".221", ".219"), U).verdict is Verdict.PASS
    assert codes(judge(tight, gap(".218", ".2211", ".219"), U)) == ["repeats_disagree"]


def test_a_guarded_rule_without_a_known_uncertainty_judges_nothing():
    for text in (".22", ".1"):
        judgement = judge(GAP, gap(text), None)
        assert judgement.verdict is Verdict.NONE
        assert codes(judgement) == ["uncertainty_unknown"]
    simple = dataclasses.replace(GAP, rule=SIMPLE)
    assert judge(simple, gap(".18"), None).verdict is Verdict.PASS
    assert judge(simple, gap(".18"), None).probability is None
    with pytest.raises(ValueError, match="negative"):
        judge(GAP, gap(".22"), F(-1))


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


def test_a_count_has_no_unit_and_is_whole():
    assert judge(PIECES, pieces("19"), None).verdict is Verdict.PASS
    assert judge(PIECES, pieces("18", "pcs"), None).side is Side.BELOW
    assert judge(PIECES, pieces("19"), None).explanation.startswith("Pieces: the count, typed 19, is 19.")
    for text in ("18.5", "-19", "1/2"):
        assert codes(judge(PIECES, pieces(text), None)) == ["unreadable"]
    assert codes(judge(PIECES, pieces("19", "in"), None)) == ["wrong_dimension"]


def test_the_paragraph_says_what_was_compared_with_what_by_which_rule_and_with_which_numbers():
    assert judge(GAP, gap(".187"), U).explanation == (
        "Jaw gap: the reading, typed .187 in, is 0.187 in. It was compared with 0.180 in to 0.260 in by guarded "
        "acceptance, with a guard band of 1 x U = 0.0102 in, so that 0.1902 in to 0.2498 in passes. It is inside, "
        "but only 0.007 in from the lower limit, less than the guard band: conditional. Probability that the true "
        "value conforms: 91.5 %."
    )
    assert judge(GAP, gap(".218", ".221", ".219"), U).explained_in("mm") == (
        "Jaw gap: the median of 3 readings (.218 in, .221 in, .219 in) is 5.56 mm. It was compared with 4.572 mm to "
        "6.604 mm by guarded acceptance, with a guard band of 1 x U = 0.25908 mm, so that 4.83108 mm to 6.34492 mm "
        "passes. It is inside by the guard band or more: pass. Probability that the true value conforms: more than "
        "99.9 %."
    )
    overlap = dataclasses.replace(
        GAP, title="Yoke overlap", limits=Limits(F("0.7"), None, False), rule=SIMPLE
    )
    overlap = dataclasses.replace(overlap, plausible_upper=None)
    assert judge(overlap, gap("0.7"), None).explanation == (
        "Yoke overlap: the reading, typed 0.7 in, is 0.700 in. It was compared with more than 0.700 in by simple "
        "acceptance, uncertainty not counted. It lies on the lower limit, which is excluded: fail."
    )


def test_an_inch_reader_sees_the_fraction_where_it_is_one():
    assert "is 0.188 in (3/16)." in judge(GAP, gap("3/16"), U).explanation
    assert "(3/16)" not in judge(GAP, gap("3/16"), U).explained_in("mm")


def test_a_gauge_too_coarse_for_the_limits_is_named():
    assert "too coarse" in judge(GAP, gap(".22"), F("0.05")).explanation


def test_rounding_for_display_never_moves_a_value_onto_or_over_a_limit():
    for text in (".1799", ".18001", ".179999", ".2600001", ".25999"):
        judgement = judge(dataclasses.replace(GAP, rule=SIMPLE), gap(text), U)
        assert f"is 0{text} in" in judgement.explanation


def test_a_reader_cannot_ask_for_a_length_in_newton_metres():
    judgement = judge(GAP, gap(".22"), U)
    for unit, code in (("N.m", "wrong_dimension"), ("cubit", "unit_unknown")):
        with pytest.raises(QuantityError) as error:
            judgement.explained_in(unit)
        assert error.value.code == code


def test_temperatures_are_judged_in_their_own_scale():
    warm = Characteristic("t", "Plate", "temperature", "degC", Method.SINGLE, Limits(F(15), F(30)), SIMPLE)
    typed = read_typed({"characteristic": "t", "values": [{"text": "74", "unit": "F"}]})
    assert judge(warm, typed, None).value == F(70, 3)
    assert "23.3 degC" in judge(warm, typed, None).explanation
    assert "59.0 degF to 86.0 degF" in judge(warm, typed, None).explained_in("degF")


texts = st.one_of(
    st.text(max_size=12), st.decimals(0, 1, places=3).map(str), st.sampled_from(["3/16", "5.6"])
)
units = st.one_of(st.sampled_from(["in", "mm", "", "lbf.ft", "F", "1"]), st.text(max_size=4))
VERDICTS = {Verdict.FAIL: 0, Verdict.CONDITIONAL: 1, Verdict.PASS: 2}


@given(
    st.lists(st.tuples(texts, units), max_size=4),
    st.sampled_from([GAP, FLATNESS, BORE, PIECES]),
    st.booleans(),
)
def test_whatever_is_typed_gets_a_verdict_or_a_reason(pairs, characteristic, known):
    typed = read_typed({"characteristic": "x", "values": [{"text": t, "unit": u} for t, u in pairs]})
    judgement = judge(characteristic, typed, U if known else None)
    assert isinstance(judgement, Judgement)
    assert (judgement.verdict is Verdict.NONE) == bool(judgement.problems)
    assert (judgement.verdict is Verdict.NONE) == (judgement.value is None)
    assert judgement.explanation.startswith(characteristic.title + ":")
    assert all(p.code and p.message and p.cure for p in judgement.problems)


@given(st.integers(50, 600), st.integers(50, 600), st.integers(0, 60), st.integers(0, 60))
def test_a_better_gauge_never_turns_a_pass_into_less(a, b, worse, better):
    text = f"0.{a:03}"
    coarse, fine = sorted((worse, better), reverse=True)
    with_coarse = judge(GAP, gap(text), F(coarse, 1000)).verdict
    with_fine = judge(GAP, gap(text), F(fine, 1000)).verdict
    assert VERDICTS[with_fine] >= VERDICTS[with_coarse]
    # and nearer the middle is never worse
    near, far = sorted((a, b), key=lambda mil: abs(mil - 220))
    verdicts = [judge(GAP, gap(f"0.{mil:03}"), U).verdict for mil in (near, far)]
    assert VERDICTS[verdicts[0]] >= VERDICTS[verdicts[1]]


@given(st.integers(50, 600))
def test_the_same_length_typed_in_inches_or_millimetres_gets_the_same_verdict(mil):
    inches = judge(GAP, gap(f"0.{mil:03}"), U)
    metric = judge(GAP, gap(f"{mil * 254 // 10000}.{mil * 254 % 10000:04}", unit="mm"), U)
    assert (inches.verdict, inches.value, inches.side) == (metric.verdict, metric.value, metric.side)


@pytest.mark.parametrize(
    ("document", "pointer"),
    [
        ({}, "/characteristic"),
        ({"characteristic": 5}, "/characteristic"),
        ({"characteristic": ""}, "/characteristic"),
        ({"characteristic": "x", "values": {}}, "/values"),
        ({"characteristic": "x", "values": [".218"]}, "/values/0"),
        ({"characteristic": "x", "values": [{"text": 0.218, "unit": "in"}]}, "/values/0/text"),
        ({"characteristic": "x", "values": [{"text": None, "unit": "in"}]}, "/values/0/text"),
        ({"characteristic": "x", "values": [{"text": ".2", "unit": 1}]}, "/values/0/unit"),
        ({"characteristic": "x", "values": [{"text": ".2", "unit": "in", "u": 1}]}, "/values/0/u"),
        ({"characteristic": "x", "values": [{"text": ".2"}] * 101}, "/values"),
        ({"characteristic": "x", "values": [{"text": "9" * 20_001}]}, "/values/0/text"),
        ({"characteristic": "x", "colour": "red"}, "/colour"),
        ({"characteristic": "x", "grid": []}, "/grid"),
        ({"characteristic": "x", "grid": {"x": ["0"], "y": ["0"], "z": ["0"], "unit": "in"}}, "/grid/z/0"),
        ({"characteristic": "x", "grid": {"x": [0], "y": ["0"], "z": [["0"]]}}, "/grid/x/0"),
        ({"characteristic": "x", "grid": {"x": [], "y": [], "z": [["0"] * 101] * 100}}, "/grid/z"),
        ({"characteristic": "x", "bore": {"angles": ["0"]}}, "/bore/angles/0"),
        ({"characteristic": "x", "bore": {"angles": [True]}}, "/bore/angles/0"),
        (
            {"characteristic": "x", "bore": {"angles": [0], "depths": ["1"], "diameters": None}},
            "/bore/diameters",
        ),
        ({"characteristic": "x", "instrument": 11}, "/instrument"),
        ({"characteristic": "x", "plate_temperature": "74 F"}, "/plate_temperature"),
    ],
)
def test_a_malformed_reading_is_refused_with_the_place(document, pointer):
    with pytest.raises(TypedReadingError) as error:
        read_typed(document)
    assert error.value.pointer == pointer
    assert error.value.message


def test_a_whole_document_is_read_as_it_was_typed():
    document = json.loads(
        """{"characteristic": "jaw-gap", "values": [{"text": ".218", "unit": "in"}], "instrument": "FG-11",
        "state": "jaws closed on the test kingpin", "plate_temperature": {"text": "74", "unit": "F"},
        "air_temperature": {"text": "72", "unit": "F"}, "grid": null, "bore": null}"""
    )
    reading = read_typed(document)
    assert (reading.instrument, reading.state) == ("FG-11", "jaws closed on the test kingpin")
    assert (reading.values[0].text, reading.values[0].unit) == (".218", "in")
    assert (reading.plate_temperature.text, reading.air_temperature.unit) == ("74", "F")
    assert MOST_CELLS == 10_000
