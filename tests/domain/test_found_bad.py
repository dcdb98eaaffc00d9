from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.characteristic import Characteristic, DecisionRule, Limits, Method, RuleKind
from inspections.domain.found_bad import FoundBad, Outcome, UsedReading, found_bad_of, rejudge
from inspections.domain.instruments import (
    Calibration,
    CalibrationResult,
    CheckPoint,
    InstrumentFacts,
    InstrumentKind,
)
from inspections.domain.tolerance import Verdict

F = Fraction
GAP = Characteristic(
    key="jaw_gap",
    title="Jaw gap",
    dimension="length",
    unit="in",
    method=Method.SINGLE,
    limits=Limits(F("0.180"), F("0.260")),
    rule=DecisionRule(RuleKind.GUARDED),
    nominal=F("0.220"),
)
U = F("0.0102")
LAST_GOOD = datetime(2026, 1, 12, 8, tzinfo=UTC)
FOUND = datetime(2026, 4, 14, 8, tzinfo=UTC)
THIN = CheckPoint(reference=F("0.194"), indicated=F("0.200"))  # blades 0.006 in thinner than marked
BAD = Calibration(FOUND, FOUND + timedelta(days=180), CalibrationResult.FAILED, as_found=(THIN,))
FG_07 = InstrumentFacts(
    "FG-07",
    InstrumentKind.FEELER_SET,
    F(0),
    F(1, 2),
    "in",
    F("0.001"),
    U,
    (Calibration(LAST_GOOD, FOUND, CalibrationResult.IN_TOLERANCE), BAD),
)
ERROR = found_bad_of(FG_07, BAD)


def reading(value, number=1, *, characteristic=GAP, release=None, at=None):
    taken = at or LAST_GOOD + timedelta(days=number)
    return UsedReading(f"entry-{number}", f"job-{number}", characteristic, F(value), U, taken, release)


def only(found, used):
    (rejudged,) = rejudge(found, [used]).readings
    return rejudged


class TestNineReadingsOfAFeelerSetFoundThin:
    recorded = (".186", ".193", ".220", ".225", ".231", ".184", ".255", ".205", ".248")
    report = rejudge(ERROR, [reading(v, n, release=f"release-{n}") for n, v in enumerate(recorded, 1)])

    def test_each_true_value_is_the_recorded_one_less_six_thousandths(self):
        truly = [F(v) for v in (".180", ".187", ".214", ".219", ".225", ".178", ".249", ".199", ".242")]
        assert [r.corrected for r in self.report.readings] == truly

    def test_one_fails_two_are_conditional_six_pass(self):
        assert [r.corrected_verdict for r in self.report.readings] == [
            Verdict.CONDITIONAL,
            Verdict.CONDITIONAL,
            Verdict.PASS,
            Verdict.PASS,
            Verdict.PASS,
            Verdict.FAIL,
            Verdict.PASS,
            Verdict.PASS,
            Verdict.PASS,
        ]

    def test_one_is_suspended_two_go_to_review_six_are_clear(self):
        assert [len(self.report.of(outcome)) for outcome in Outcome] == [6, 2, 1, 0]
        assert self.report.releases_to_suspend == ("release-6",)
        assert self.report.releases_to_review == ("release-1", "release-2")
        assert "1 to suspend, 2 to review, 6 clear" in self.report.message

    def test_what_was_recorded_stays(self):
        assert [r.reading.value for r in self.report.readings] == [F(v) for v in self.recorded]

    def test_the_words_say_what_was_recorded_what_is_true_and_what_is_hit(self):
        words = self.report.of(Outcome.SUSPEND)[0].message
        assert words == (
            "Jaw gap: recorded 0.184 in, with the error of FG-07 truly 0.178 in, fail. "
            "Release release-6 rests on it and is suspended."
        )


def test_readings_before_the_last_good_check_are_left_out_and_the_ends_are_not():
    edge = [reading(".220", 1, at=LAST_GOOD - timedelta(seconds=1)), reading(".220", 2, at=LAST_GOOD)]
    assert [r.reading.entry for r in rejudge(ERROR, edge).readings] == ["entry-2"]


def test_a_gauge_left_bad_keeps_later_readings_in_doubt_and_an_adjusted_one_does_not():
    later = [reading(".184", 1, at=FOUND), reading(".184", 2, at=FOUND + timedelta(days=3))]
    adjusted = replace(BAD, result=CalibrationResult.ADJUSTED)
    assert len(rejudge(ERROR, later).readings) == 2
    assert len(rejudge(found_bad_of(FG_07, adjusted), later).readings) == 1


def test_without_any_good_check_every_reading_is_in_doubt():
    fresh = found_bad_of(replace(FG_07, calibrations=(BAD,)), BAD)
    assert fresh.last_good_at is None
    assert len(rejudge(fresh, [reading(".220", 1, at=datetime(1999, 1, 1, tzinfo=UTC))]).readings) == 1


def test_a_check_that_found_the_gauge_good_puts_nothing_in_doubt():
    with pytest.raises(ValueError, match="found it good"):
        found_bad_of(FG_07, FG_07.calibrations[0])


def test_a_recorded_fail_is_never_cleared_by_the_correction():
    rejudged = only(ERROR, reading(".264"))  # truly .258, within the limits
    assert rejudged.recorded_verdict is Verdict.FAIL
    assert rejudged.corrected_verdict is Verdict.CONDITIONAL
    assert rejudged.outcome is Outcome.STANDS
    assert "stays one" in rejudged.message


def test_a_fail_on_which_no_release_rests_says_so():
    rejudged = only(ERROR, reading(".184"))
    assert rejudged.outcome is Outcome.SUSPEND
    assert "No release rests on it." in rejudged.message
    assert rejudge(ERROR, [reading(".184")]).releases_to_suspend == ()


def test_a_release_hit_twice_is_suspended_once_and_not_reviewed_too():
    used = [reading(v, n, release="release-1") for n, v in enumerate((".184", ".186", ".183"), 1)]
    report = rejudge(ERROR, used)
    assert (report.releases_to_suspend, report.releases_to_review) == (("release-1",), ())


def test_an_error_that_could_not_be_measured_sends_everything_to_review():
    unknown = replace(ERROR, points=())
    rejudged = only(unknown, reading(".220"))
    assert (rejudged.corrected, rejudged.outcome) == (None, Outcome.REVIEW)
    assert only(unknown, reading(".300")).outcome is Outcome.STANDS


TWO_POINTS = replace(
    ERROR, points=(CheckPoint(F("0.100"), F("0.100")), CheckPoint(F("0.290"), F("0.300")))
)  # good at 0.100, reads 0.010 too much at 0.300


def test_between_two_points_the_worst_neighbour_decides():
    assert only(TWO_POINTS, reading(".220")).outcome is Outcome.CLEAR
    rejudged = only(TWO_POINTS, reading(".186"))
    assert rejudged.outcome is Outcome.SUSPEND  # by the point at 0.300: truly 0.176
    assert rejudged.corrected == F("0.176")


def test_between_two_points_a_neighbour_without_error_counts_too():
    rejudged = only(TWO_POINTS, reading(".255"))  # .245 to .255, likeliest .24725
    assert (rejudged.corrected, rejudged.outcome) == (F("0.255"), Outcome.REVIEW)


def test_a_value_beyond_the_points_that_were_checked_is_reviewed_at_least():
    narrow = replace(ERROR, points=(CheckPoint(F("0.100"), F("0.100")), CheckPoint(F("0.200"), F("0.200"))))
    assert only(narrow, reading(".220")).outcome is Outcome.REVIEW
    assert only(narrow, reading(".200")).outcome is Outcome.CLEAR


def test_two_points_at_one_value_that_disagree_are_both_tried():
    torn = (CheckPoint(F("0.200"), F("0.200")), CheckPoint(F("0.179"), F("0.200")))
    for points in (torn, torn[::-1]):
        assert only(replace(ERROR, points=points), reading(".200")).corrected == F("0.179")


def test_an_error_in_inches_shifts_a_reading_in_millimetres():
    metric = replace(GAP, unit="mm", limits=Limits(F("4.572"), F("6.604")))
    used = UsedReading("e", "j", metric, F("4.6736"), U * F("25.4"), FOUND, None)  # 0.184 in
    rejudged = only(ERROR, used)
    assert rejudged.corrected == F("0.178") * F("25.4")
    assert rejudged.outcome is Outcome.SUSPEND


def test_a_temperature_error_is_a_difference_and_has_no_zero_to_shift():
    warm = Characteristic(
        "plate",
        "Plate",
        "temperature",
        "degC",
        Method.SINGLE,
        Limits(None, F(40)),
        DecisionRule(RuleKind.SIMPLE),
    )
    thermometer = FoundBad("TH-01", "degF", (CheckPoint(F(109), F(100)),), None, None)
    rejudged = only(thermometer, UsedReading("e", "j", warm, F(36), None, FOUND, None))
    assert rejudged.corrected == 41  # 9 degF too little is 5 degC
    assert rejudged.outcome is Outcome.SUSPEND


ELONGATION = replace(
    GAP,
    method=Method.BORE,
    limits=Limits(None, F("0.030")),
    rule=DecisionRule(RuleKind.SIMPLE),
    title="Elongation",
)


def test_an_offset_leaves_a_difference_alone():
    assert only(ERROR, reading(".030", characteristic=ELONGATION)).outcome is Outcome.CLEAR


def test_a_spread_of_biases_may_lengthen_a_difference():
    rejudged = only(TWO_POINTS, reading(".025", characteristic=ELONGATION))
    assert rejudged.outcome is Outcome.SUSPEND
    assert rejudged.corrected == F("0.035")


def test_a_reading_of_another_dimension_is_refused():
    torque = replace(GAP, unit="lbf.ft")
    with pytest.raises(ValueError, match="torque"):
        only(ERROR, reading("120", characteristic=torque))


values = st.integers(150, 300).map(lambda n: F(n, 1000))
biases = st.lists(st.tuples(st.integers(100, 350), st.integers(-20, 20)), min_size=1, max_size=5)


def with_points(pairs):
    return replace(ERROR, points=tuple(CheckPoint(F(at + b, 1000), F(at, 1000)) for at, b in pairs))


@given(values, biases)
def test_nothing_that_was_recorded_as_a_fail_is_ever_cleared(value, pairs):
    rejudged = only(with_points(pairs), reading(value))
    assert (rejudged.outcome is Outcome.STANDS) is (rejudged.recorded_verdict is Verdict.FAIL)
    assert rejudged.reading.value == value


@given(values, biases)
def test_clear_means_that_every_neighbouring_bias_passes(value, pairs):
    rejudged = only(with_points(pairs), reading(value))
    if rejudged.outcome is Outcome.CLEAR:
        below = [at for at, _ in pairs if F(at, 1000) <= value]
        above = [at for at, _ in pairs if F(at, 1000) >= value]
        near = {max(below, default=None), min(above, default=None)}
        truly = [value + F(b, 1000) for at, b in pairs if at in near]
        assert all(F("0.180") + U <= t <= F("0.260") - U for t in truly)


@given(st.lists(values, max_size=12))
def test_every_reading_in_doubt_is_listed_once_in_the_order_of_the_work(recorded):
    used = [reading(value, number) for number, value in enumerate(recorded)]
    report = rejudge(ERROR, reversed(used))
    assert [r.reading for r in report.readings] == used
    assert sum(len(report.of(outcome)) for outcome in Outcome) == len(used)


# Common practice, no source: two locks with a gap of 3/16 in, plus or minus 1/16.
@pytest.mark.parametrize(
    ("recorded", "outcome"),
    [
        ("0.131", Outcome.CLEAR),
        ("0.130", Outcome.SUSPEND),
        ("0.250", Outcome.CLEAR),
        ("0.251", Outcome.STANDS),
    ],
)
def test_a_two_lock_gap_of_three_sixteenths_is_rejudged_against_its_limits(recorded, outcome):
    gap = replace(GAP, limits=Limits(F(1, 8), F(1, 4)), rule=DecisionRule(RuleKind.SIMPLE))
    assert only(ERROR, reading(recorded, characteristic=gap)).outcome is outcome


# Common practice, no source: a lever at most 1/2 in from a rib.
def test_a_lever_half_an_inch_from_a_rib_is_beyond_it_when_the_gauge_read_too_little():
    lever = replace(GAP, limits=Limits(None, F(1, 2)), rule=DecisionRule(RuleKind.SIMPLE))
    short = replace(ERROR, points=(CheckPoint(F("0.206"), F("0.200")),))
    assert only(short, reading("0.494", characteristic=lever)).outcome is Outcome.CLEAR
    assert only(short, reading("0.495", characteristic=lever)).outcome is Outcome.SUSPEND
