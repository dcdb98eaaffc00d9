"""From the JSON of an entry to a verdict and its paragraph."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.characteristic import Characteristic, Limits, Method
from inspections.domain.judging import Judgement, Side, Verdict, judge
from inspections.domain.quantities import QuantityError
from inspections.domain.typed_reading import read_typed
from tests.domain.judging_world import BORE, FLATNESS, GAP, PIECES, SIMPLE, F, U, codes, gap, pieces


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
    overlap = dataclasses.replace(GAP, title="Yoke overlap", limits=Limits(F("0.7"), None, False), rule=SIMPLE)
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


def test_a_question_repeats_the_number_and_not_the_unit_that_was_typed_behind_it():
    (problem,) = judge(GAP, gap("5.6in"), U).problems
    assert problem.message == "5.6 in? 5.6 mm is 0.220 in."
    assert problem.cure == "If you meant 5.6 mm, enter it so; otherwise measure again."


def test_a_unit_in_the_text_alone_is_asked_for_beside_it_and_not_said_to_contradict():
    (problem,) = judge(GAP, gap("5.6 mm", unit=""), U).problems
    assert (problem.code, problem.cure) == ("unit_missing", "State the unit beside the number: mm?")


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


texts = st.one_of(st.text(max_size=12), st.decimals(0, 1, places=3).map(str), st.sampled_from(["3/16", "5.6"]))
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
