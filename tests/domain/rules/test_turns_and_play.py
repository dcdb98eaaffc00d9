"""Rule 606: the play that is found after an adjustment, held against the turns that were said."""

import pytest

from tests.acts import ADJUST_SCREW, Act, reading, typed
from tests.domain.rules.story import Story


def play(text: str, unit: str = "in", instrument: str = "TK-03") -> Act:
    state = "test kingpin pushed and pulled"
    return reading("verify", [typed("play", text, unit=unit, instrument=instrument, state=state)], "OK")


@pytest.mark.rule(606)
def test_a_play_that_other_turns_give_is_shown_with_the_turns_that_give_it() -> None:
    story = Story().through("adjust")
    found = story.do(play("0.004"))
    assert 606 in found.rules
    assert "That is what 0.4 turns give" in found.what(606)


@pytest.mark.rule(606)
@pytest.mark.parametrize(("text", "unit"), [("0.0125", "in"), ("0.011", "in"), ("0.33", "mm")])
def test_a_play_that_the_turns_give_within_both_uncertainties_agrees(text: str, unit: str) -> None:
    assert story_with(text, unit) == set()


@pytest.mark.rule(606)
def test_a_play_within_its_limits_that_the_turns_do_not_give_keeps_its_credit() -> None:
    story = Story().through("adjust")
    found = story.do(play("0.030"))
    assert found.rules == {606}
    assert found.credit


@pytest.mark.rule(606)
def test_what_a_coarse_gauge_reads_is_not_held_against_the_turns() -> None:
    assert story_with("0.022", "in", instrument="FG-11") == set()


@pytest.mark.rule(606)
def test_an_adjustment_without_credit_says_nothing_of_the_play() -> None:
    story = Story().until("adjust")
    story.do(ADJUST_SCREW.by("SV"))
    amended = {"kind": "step", "step": "adjust", "adjustment": {"turns_back": {"text": "1 1/4", "unit": "turn"}}}
    first = story.logged[-1]
    story.do(Act("SV", "amendment", {"amends": first.id, "reason": "Typed on the wrong phone.", "content": amended}))
    assert 606 not in story.do(play("0.030")).rules


def story_with(text: str, unit: str, instrument: str = "TK-03") -> set[int]:
    return Story().through("adjust").do(play(text, unit, instrument)).rules
