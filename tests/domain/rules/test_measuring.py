"""Rules 301 to 314: readings and what stands against them."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from typing import Any

import pytest

from jobs.domain.procedure_document import publishable
from jobs.domain.reading_act import uncertainty_of
from tests.acts import CASTING, LOCK_TRAVEL, ON_KINGPIN, WARMTH, Act, jaw_gap, reading, step, typed
from tests.domain.rules.story import Story
from tests.strategies import FILES, PROCEDURES, START, shipped, world_facts

GRIND = Act(
    "RM",
    "correction",
    {"step": "measure-lock", "characteristic": "jaw-gap", "correction": "grind-stop-pad", "face": "jaw stop pad"},
)


def gap(story: Story, *texts: str, **more: Any) -> set[str]:
    """The codes of a reading of the jaw gap with `more` in place of what a good reading says."""
    said = {"instrument": "FG-11", "state": ON_KINGPIN, **WARMTH, **more}
    one = typed("jaw-gap", *texts, **{name: value for name, value in said.items() if value is not None})
    return story.do(reading("measure-lock", [one])).codes


@pytest.fixture
def story() -> Story:
    return Story().until("measure-lock")


@pytest.mark.rule(301)
def test_a_reading_that_is_plausible_only_in_another_unit_is_sent_back_with_the_question(story: Story) -> None:
    asked = story.do(jaw_gap("5.6", "5.6", "5.6"))
    assert asked.codes == {"reading_not_judged"}
    words = " ".join(finding.what + finding.cure for finding in asked.outcome.findings)
    assert "5.6 mm" in words
    assert "0.220" in words


@pytest.mark.rule(302)
def test_a_reading_out_of_limits_says_what_the_procedure_allows(story: Story) -> None:
    small = story.do(jaw_gap(".156", ".157", ".156"))
    assert small.codes == {"out_of_limits"}
    assert "Grind the stop pad on the jaw stop pad" in small.outcome.findings[0].cure


@pytest.mark.rule(303)
def test_a_reading_in_the_guard_band_waits_and_a_better_one_lifts_the_hold(story: Story) -> None:
    near = story.do(jaw_gap(".187", ".187", ".187"))
    assert near.codes == {"conditional"}
    assert set(story.bench.holds) == {near.id}
    assert story.do(jaw_gap(".219", ".219", ".219")).credit
    assert not story.bench.holds


@pytest.mark.rule(304)
def test_a_reading_in_another_state_does_not_count(story: Story) -> None:
    assert gap(story, ".219", ".219", ".219", state="jaws open") == {"wrong_state"}
    assert gap(story, ".219", ".219", ".219", state=None) == {"wrong_state"}


@pytest.mark.rule(305)
def test_a_plate_that_is_too_warm_is_left_to_cool(story: Story) -> None:
    warm = {"plate_temperature": {"text": "90", "unit": "F"}, "air_temperature": {"text": "23", "unit": "C"}}
    assert gap(story, ".219", ".219", ".219", **warm) == {"too_warm"}
    assert gap(story, ".219", ".219", ".219", plate_temperature=None) == {"too_warm"}


@pytest.mark.rule(301)
@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [("1000", "F", "1000 degF? That cannot"), ("72", "C", "72 degF is 72"), ("-60", "F", "should be from -40 degF")],
)
def test_air_at_which_nobody_works_is_asked_about_though_plate_and_air_agree(
    story: Story, text: str, unit: str, said: str
) -> None:
    same = {"text": text, "unit": unit}
    one = {"instrument": "FG-11", "state": ON_KINGPIN, "plate_temperature": same, "air_temperature": same}
    asked = story.do(reading("measure-lock", [typed("jaw-gap", ".219", ".219", ".219", **one)]))
    assert asked.codes == {"reading_not_judged"}
    assert said in asked.what(301)


@pytest.mark.rule(305)
def test_the_words_show_every_digit_that_makes_the_difference(story: Story) -> None:
    warm = {"plate_temperature": {"text": "87.04", "unit": "F"}, "air_temperature": {"text": "72", "unit": "F"}}
    act = typed("jaw-gap", ".219", ".219", ".219", instrument="FG-11", state=ON_KINGPIN, **warm)
    assert "15.04 F apart, 15 F at most" in story.do(reading("measure-lock", [act])).what(305)


@pytest.mark.rule(306)
def test_a_gauge_counts_by_its_kind_and_by_its_state_on_the_day() -> None:
    facts = world_facts()
    gauge = facts.instruments["FG-11"]
    overdue = replace(gauge.calibrations[0], due_at=START - timedelta(days=1))
    instruments = {**facts.instruments, "FG-11": replace(gauge, calibrations=(overdue,))}
    story = Story(facts=replace(facts, instruments=instruments)).until("measure-lock")
    assert gap(story, ".219", ".219", ".219") == {"instrument_not_good"}
    assert "instrument_not_good" in gap(story, ".219", ".219", ".219", instrument="TK-03")
    assert "instrument_not_good" in gap(story, ".219", ".219", ".219", instrument="FG-99")
    assert "instrument_not_good" in gap(story, ".219", ".219", ".219", instrument=None)


@pytest.mark.rule(306)
def test_a_gauge_in_millimetres_is_out_of_range_for_a_gap_in_inches_that_it_does_not_reach() -> None:
    facts = world_facts()
    short = replace(facts.instruments["FG-11"], unit="mm", high=Fraction(1), uncertainty=Fraction("0.25"))
    story = Story(facts=replace(facts, instruments={**facts.instruments, "FG-11": short})).until("measure-lock")
    assert gap(story, ".219", ".219", ".219") == {"instrument_not_good"}


@pytest.mark.rule(306)
def test_a_bore_gauge_is_held_to_its_range_by_the_diameters_and_not_by_the_elongation() -> None:
    facts = world_facts()
    small = replace(facts.instruments["BG-02"], high=Fraction(1))
    story = Story(facts=replace(facts, instruments={**facts.instruments, "BG-02": small})).until("inspect-casting")
    said = story.do(reading("inspect-casting", CASTING))
    assert said.codes == {"instrument_not_good"}
    assert "outside the working range of BG-02" in said.what(306)


@pytest.mark.rule(307)
def test_a_failed_reading_is_not_read_again_until_it_passes(story: Story) -> None:
    story.do(jaw_gap(".156", ".157", ".156"))
    assert story.do(jaw_gap(".219", ".219", ".219")).codes == {"read_again_without_reason"}
    story.do(Act("RM", "step", {"step": "cam-bolt-finger-tight"}))  # logged once more, earns nothing
    assert story.do(jaw_gap(".219", ".219", ".219")).codes == {"read_again_without_reason"}


@pytest.mark.rule(307)
def test_work_done_again_with_credit_answers_a_failed_reading(story: Story) -> None:
    story.do(jaw_gap(".156", ".157", ".156"))
    story.do(Act("RM", "rework", {"step": "cam-bolt-finger-tight", "reason": "Was not seated."}))
    assert story.do(jaw_gap(".219", ".219", ".219")).credit


@pytest.mark.rule(308)
def test_a_step_measures_only_its_own_characteristics(story: Story) -> None:
    assert story.do(reading("measure-lock", [typed("play", "0.02")])).codes == {"characteristic_unknown"}


@pytest.mark.rule(309)
def test_a_reading_from_before_the_rework_counts_no_more(story: Story) -> None:
    before = story.do(jaw_gap(".219", ".219", ".219"))
    story.do(LOCK_TRAVEL)
    story.do(Act("RM", "rework", {"step": "cam-bolt-finger-tight", "reason": "Was not seated."}))
    assert before.codes == {"reading_before_rework"}
    assert not story.has_credit("measure-lock")


@pytest.mark.rule(310)
def test_a_grid_with_a_hole_and_a_set_short_of_one_are_not_judged() -> None:
    story = Story().until("inspect-casting")
    rows = [list(row) for row in CASTING[0]["grid"]["z"]]
    rows[1][2] = ""
    holed = {**CASTING[0], "grid": {**CASTING[0]["grid"], "z": rows}}
    assert story.do(reading("inspect-casting", [holed])).codes == {"reading_incomplete"}
    short = {**CASTING[1], "bore": {**CASTING[1]["bore"], "depths": ["0.5"], "diameters": [["1.503"] * 4]}}
    assert story.do(reading("inspect-casting", [short])).codes == {"reading_incomplete"}
    story = Story().until("measure-lock")
    assert gap(story, ".218", ".221") == {"reading_incomplete"}


@pytest.mark.rule(311)
def test_repeats_that_lie_too_far_apart_are_taken_again(story: Story) -> None:
    assert gap(story, ".218", ".221", ".240") == {"repeats_disagree"}


@pytest.mark.rule(312)
def test_a_reading_beyond_cure_holds_the_job_even_if_it_is_read_again_smaller() -> None:
    story = Story().until("inspect-casting")
    worn = {**CASTING[1], "bore": {**CASTING[1]["bore"], "diameters": [["1.503", "1.548", "1.566", "1.531"]] * 2}}
    beyond = story.do(reading("inspect-casting", [CASTING[0], worn]))
    assert beyond.codes == {"out_of_limits", "beyond_cure"}
    again = story.do(reading("inspect-casting", CASTING, reason="Gauge was held askew."))
    assert again.codes == {"read_again_for_a_reason"}
    assert set(story.bench.holds) == {beyond.id}
    said = {"kind": "reading", "step": "inspect-casting", "readings": CASTING}
    story.do(Act("RM", "amendment", {"amends": beyond.id, "reason": "Mistyped.", "content": said}))
    assert set(story.bench.holds) == {beyond.id}  # nobody amends his way out of it
    assert story.do(Act("JD", "clear", {"hold": beyond.id, "reason": "Measured myself: 0.008."})).credit
    assert not story.bench.holds


@pytest.mark.rule(313)
def test_a_failed_reading_amended_into_a_good_one_counts_and_is_flagged(story: Story) -> None:
    failed = story.do(jaw_gap(".156", ".157", ".156"))
    content = {"kind": "reading", **jaw_gap(".216", ".217", ".216").body}
    amendment = story.do(Act("RM", "amendment", {"amends": failed.id, "reason": "Mistyped.", "content": content}))
    assert amendment.credit
    assert amendment.codes == {"amended_from_fail"}
    assert failed.codes == {"out_of_limits", "amended"}
    assert story.bench.passes("measure-lock", "jaw-gap")


@pytest.mark.rule(314)
def test_a_failed_reading_read_again_for_a_reason_counts_and_is_flagged(story: Story) -> None:
    story.do(jaw_gap(".156", ".157", ".156"))
    again = story.do(jaw_gap(".219", ".219", ".219", reason="Burr taken off the feeler."))
    assert again.credit
    assert again.codes == {"read_again_for_a_reason"}


def test_a_reading_that_does_not_count_replaces_none_that_does_unless_it_warns(story: Story) -> None:
    good = story.do(jaw_gap(".219", ".219", ".219"))
    gap(story, ".230", ".230", ".230", state="jaws open")
    assert story.bench.measured["measure-lock", "jaw-gap"].entry == good.id
    gap(story, ".300", ".300", ".300", state="jaws open")
    assert not story.bench.passes("measure-lock", "jaw-gap")
    assert story.do(jaw_gap(".219", ".219", ".219")).credit  # the warning was no proper fail


def test_the_uncertainty_of_a_gauge_is_carried_into_the_unit_of_the_characteristic() -> None:
    spec = shipped("PR-11").by_key["measure-lock"].readings[0]
    gauge = world_facts().instruments["FG-11"]
    metric = replace(gauge, unit="mm", uncertainty=gauge.uncertainty * 254 / 10)
    assert uncertainty_of(metric, spec) == gauge.uncertainty
    assert uncertainty_of(replace(gauge, unit="lbf.ft"), spec) is None
    assert uncertainty_of(None, spec) is None


@pytest.mark.rule(104)
def test_a_step_whose_reading_failed_is_not_declared_not_applicable() -> None:
    text = (PROCEDURES / FILES["PR-11"]).read_text()
    free = text.replace("  - key: measure-lock\n", "  - key: measure-lock\n    may_be_not_applicable: true\n", 1)
    story = Story(procedure=publishable(free)[2]).until("measure-lock")
    story.do(jaw_gap(".156", ".157", ".156"))
    skipped = story.do(step("measure-lock", not_applicable=True))
    assert skipped.codes == {"not_applicable_refused"}
    assert not story.has_credit("measure-lock")
    other = Story(procedure=publishable(free)[2]).until("measure-lock")
    assert other.do(step("measure-lock", not_applicable=True)).credit
    other.do(jaw_gap(".156", ".157", ".156"))
    assert not other.has_credit("measure-lock")
