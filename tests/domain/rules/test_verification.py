"""Rules 901 to 999: observations, runs of cycles, the release over an open gate."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.acts import ADJUST_SCREW, PLAY, SEEN_11, Act, cycle, reading, step, typed
from tests.domain.rules.story import Story
from tests.strategies import START, world_facts

YOKE_NOT_HOME = {**SEEN_11, "yoke_home": False}
RELEASE = {"chain_head": "ab" * 32, "statement": "Released."}


@pytest.fixture
def story() -> Story:
    return Story().until("verify")


@pytest.mark.rule(901)
def test_every_observation_is_made_and_holds_or_the_count_starts_anew(story: Story) -> None:
    first = story.do(cycle(1, SEEN_11))
    failed = story.do(cycle(2, YOKE_NOT_HOME))
    assert failed.codes == {"cycle_failed"}
    assert "yoke home: no" in failed.what(901)
    assert first.codes == {"verification_before_work"}
    assert story.do(cycle(1, SEEN_11)).credit
    seen_three = dict.fromkeys(list(SEEN_11)[:3], True)
    assert story.do(cycle(2, seen_three)).codes == {"cycle_failed"}
    assert story.do(cycle(1, {**SEEN_11, "looks_fine": True})).codes == {"cycle_failed"}
    assert story.bench.failed_cycles == 3


@pytest.mark.rule(901)
def test_a_reading_out_of_limits_in_a_cycle_fails_the_cycle(story: Story) -> None:
    loose = typed("play", "0.055", instrument="TK-03", state="test kingpin pushed and pulled")
    body = {"step": "verify", "cycle": 1, "observations": SEEN_11, "instrument": "TK-03", "readings": [loose]}
    failed = story.do(Act("OK", "verification_cycle", body))
    assert "out_of_limits" in failed.codes
    assert story.bench.failed_cycles == 1
    assert not story.has_credit("adjust")  # the procedure sends back to it


@pytest.mark.rule(902)
def test_cycles_are_counted_one_by_one(story: Story) -> None:
    story.do(cycle(1, SEEN_11))
    assert story.do(cycle(3, SEEN_11)).codes == {"cycle_out_of_count"}
    assert story.do(cycle(2, SEEN_11)).credit


@pytest.mark.rule(903)
def test_one_run_is_made_by_one_person(story: Story) -> None:
    story.do(cycle(1, SEEN_11))
    assert story.do(cycle(2, SEEN_11, "JD")).codes == {"second_verifier_in_a_run"}
    assert story.do(cycle(2, SEEN_11)).credit


@pytest.mark.rule(904)
def test_a_cycle_is_made_on_a_registered_test_kingpin_that_was_good(story: Story) -> None:
    body = {"step": "verify", "cycle": 1, "observations": SEEN_11}
    for instrument in (None, "TK-99", "FG-11"):
        act = Act("OK", "verification_cycle", {**body, "instrument": instrument})
        assert story.do(act).codes == {"test_kingpin_not_good"}, instrument
    facts = world_facts()
    worn = replace(facts.instruments["TK-03"], withdrawals=())
    overdue = replace(worn, calibrations=(replace(worn.calibrations[0], due_at=START - timedelta(days=1)),))
    other = Story(facts=replace(facts, instruments={**facts.instruments, "TK-03": overdue})).until("verify")
    assert other.do(cycle(1, SEEN_11)).codes == {"test_kingpin_not_good"}


@pytest.mark.rule(905)
def test_a_verification_older_than_any_adjustment_counts_no_more(story: Story) -> None:
    cycles = [story.do(cycle(number, SEEN_11)) for number in range(1, 5)]
    play = story.do(PLAY)
    assert story.has_credit("verify")
    story.do(ADJUST_SCREW)
    assert {code for one in cycles for code in one.codes} == {"verification_before_work"}
    assert play.codes == {"reading_before_rework"}
    assert not story.has_credit("verify")


@pytest.mark.rule(906)
def test_a_failed_observation_is_never_amended_into_a_pass(story: Story) -> None:
    failed = story.do(cycle(1, YOKE_NOT_HOME))
    content = {"kind": "verification_cycle", **cycle(1, SEEN_11).body}
    amended = story.do(Act("OK", "amendment", {"amends": failed.id, "reason": "Mistapped.", "content": content}))
    assert amended.codes == {"cycle_amended"}
    assert story.bench.cycles == []
    good = story.do(cycle(1, SEEN_11))
    story.do(Act("OK", "amendment", {"amends": good.id, "reason": "Not sure.", "content": content}))
    assert story.bench.cycles == []  # what is amended breaks its run


@pytest.mark.rule(999)
def test_a_release_over_a_closed_gate_is_no_release_and_lists_everything() -> None:
    story = Story().until("verify")
    story.do(Act("RM", "pause", {"state_note": "Adjusted."}))
    refused = story.do(Act("JD", "release", RELEASE))
    assert not refused.credit
    said = [finding.what for finding in refused.outcome.findings if finding.rule == 999]
    assert len(said) == 2  # the verification with the pull test that waits for it, and the pause
    assert "“Pull test” waits for it" in said[0]
    assert story.bench.released_by is None


@pytest.mark.rule(999)
def test_a_failed_cycle_that_comes_in_late_shows_that_the_gate_was_closed() -> None:
    story = Story().through("verify")
    at = story.now + timedelta(minutes=2)
    story.do(step("pull-test"))
    release = story.do(Act("JD", "release", RELEASE))
    assert release.credit
    story.take(story.entry(cycle(5, YOKE_NOT_HOME, "LP"), at, late=timedelta(hours=3)))
    assert release.codes == {"gate_closed"}
    assert story.bench.released_by is None


def test_play_out_of_limits_sends_back_to_the_adjustment_and_the_next_one_answers_it(story: Story) -> None:
    for number in range(1, 5):
        story.do(cycle(number, SEEN_11))
    tight = typed("play", "0.004", instrument="TK-03", state="test kingpin pushed and pulled")
    assert story.do(reading("verify", [tight], "OK")).codes == {"out_of_limits", "turns_and_play_disagree"}
    assert not story.has_credit("adjust")
    assert story.do(ADJUST_SCREW).credit
    for number in range(1, 5):
        assert story.do(cycle(number, SEEN_11)).credit
    assert story.do(PLAY).credit
    assert story.has_credit("verify")
