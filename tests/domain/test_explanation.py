"""What a verdict says at the very edges: digits, ends of guard bands, limits that are met exactly."""

import dataclasses

from inspections.domain.characteristic import DecisionRule, Limits, RuleKind
from inspections.domain.judging import Verdict, judge
from tests.domain.judging_world import GAP, PIECES, SIMPLE, F, U, gap


def test_rounding_for_display_never_moves_a_value_over_the_end_of_a_guard_band():
    passes, just_not = judge(GAP, gap(".1904"), U), judge(GAP, gap("4.83", unit="mm"), U)
    assert passes.verdict is Verdict.PASS
    assert "is 0.1904 in" in passes.explanation  # not 0.190, for 0.1902 in to 0.2498 in passes
    assert just_not.verdict is Verdict.CONDITIONAL
    assert "is 0.190 in" in just_not.explanation
    on_the_end = judge(GAP, gap(".1902"), U)
    assert on_the_end.verdict is Verdict.PASS
    assert "is 0.1902 in" in on_the_end.explanation
    hair = judge(GAP, gap(".1901999"), U)
    assert "only 0.0101999 in from the lower limit, less than the guard band: conditional" in hair.explanation


def test_a_guard_band_is_never_shown_smaller_than_it_is():
    derived = F("0.001") * F(99, 70)  # 0.00141428...: rounded to the nearest it would be less than the 0.001412 below
    near = judge(
        dataclasses.replace(GAP, limits=Limits(None, F("0.030")), plausible_lower=None), gap(".028588"), derived
    )
    assert "guard band of 1 x U = 0.00142 in" in near.explanation
    assert "only 0.001412 in from the upper limit, less than the guard band" in near.explanation


def test_a_value_on_a_limit_is_said_with_the_digits_of_the_limit_in_any_unit():
    metric = dataclasses.replace(GAP, unit="mm", limits=Limits(None, F(5)), rule=SIMPLE, plausible_upper=None)
    assert (
        judge(metric, gap("5", unit="mm"), None)
        .explained_in("in")
        .startswith("Jaw gap: the reading, typed 5 mm, is 0.1969 in. It was compared with at most 0.1969 in")
    )


def test_the_words_of_guarded_rejection_do_not_speak_of_a_guard_band_inside():
    lenient = dataclasses.replace(GAP, rule=DecisionRule(RuleKind.GUARDED_REJECTION))
    assert "It is inside: pass." in judge(lenient, gap(".181"), U).explanation
    end = judge(lenient, gap(".2702"), U)  # 0.260 + 0.0102: outside by exactly w, which is not more than w
    assert end.verdict is Verdict.CONDITIONAL
    assert "above the upper limit by 0.0102 in, no more than the guard band: conditional." in end.explanation
    excluded = dataclasses.replace(lenient, limits=Limits(F("0.180"), F("0.260"), upper_inclusive=False))
    assert (
        "lies on the upper limit, which is excluded, less than the guard band: conditional."
        in judge(excluded, gap(".260"), U).explanation
    )


def test_a_value_on_an_included_limit_says_that_it_is_on_it():
    assert (
        "It is inside, but on the lower limit, less than the guard band: conditional."
        in judge(GAP, gap(".18"), U).explanation
    )


def test_what_has_no_limits_is_noted_and_not_compared():
    as_found = dataclasses.replace(GAP, limits=Limits(None, None), rule=SIMPLE, plausible_upper=None)
    said = judge(as_found, gap(".34"), None).explanation
    assert said.endswith("is 0.340 in. No limits are set for it: it is noted as it is.")


def test_a_count_is_said_without_a_unit():
    assert judge(PIECES, gap("19", unit="1"), None).explanation.startswith("Pieces: the count, typed 19, is 19.")
