"""Rules 401 to 409: corrections are named, directed, counted, limited; the casting is never repaired."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from jobs.domain.facts import Qualification
from tests.acts import CASTING, LOCK_TRAVEL, Act, jaw_gap, reading
from tests.domain.rules.story import Logged, Story, with_person
from tests.domain.rules.test_people import EVERYTHING, welded
from tests.strategies import START, world_facts

AT = ("measure-lock", "jaw-gap")


def grind(who: str = "RM", **more: Any) -> Act:
    body = {"step": AT[0], "characteristic": AT[1], "correction": "grind-stop-pad", "face": "jaw stop pad"}
    return Act(who, "correction", {**body, **more})


@pytest.fixture
def story() -> Story:
    """A gap of 0.156 in: too small. SV has just renewed his weld qualification."""
    welder = Qualification(EVERYTHING, START - timedelta(days=10), None)
    story = Story(facts=with_person(world_facts(), "SV", welder)).until("measure-lock")
    story.do(jaw_gap(".156", ".157", ".156"))
    return story


def too_large(story: Story) -> Logged:
    return story.do(jaw_gap(".284", ".284", ".284"))


@pytest.mark.rule(401)
def test_only_a_correction_that_the_procedure_names_counts(story: Story) -> None:
    bent = story.do(grind(characteristic="handle-travel", correction="bend-handle", face="handle"))
    assert bent.codes == {"correction_not_named", "correction_not_accepted"}
    assert "correction_not_named" in story.do(grind(characteristic="play")).codes
    assert AT not in story.bench.corrected


@pytest.mark.rule(402)
def test_the_correction_after_the_last_takes_lead_and_quality(story: Story) -> None:
    for _ in range(3):
        assert story.do(grind()).credit
        story.do(jaw_gap(".156", ".157", ".156"))
    fourth = story.do(grind())
    assert fourth.codes == {"corrections_used_up"}
    assert story.do(Act("JD", "clear", {"hold": fourth.id, "reason": "Pad is thick enough."})).credit
    assert not fourth.credit
    assert story.do(Act("JD", "clear", {"hold": fourth.id, "reason": "Once more."})).codes == {"clears_nothing"}
    assert story.do(Act("OK", "clear", {"hold": fourth.id, "reason": "Quality agrees."})).credit
    assert fourth.outcome.credit
    assert len(story.bench.corrected[AT]) == 4
    assert story.do(jaw_gap(".219", ".219", ".219")).credit
    assert not story.bench.holds


@pytest.mark.rule(403)
def test_a_weld_counts_only_with_permit_interval_fire_watch_crack_check_and_cool_down(story: Story) -> None:
    story.do(grind())
    too_large(story)
    whole = welded(story, "SV").body
    for missing in ("permit", "permit_from", "permit_to", "fire_watch_until", "crack_check", "cooled"):
        short = {name: value for name, value in whole.items() if name != missing}
        assert "correction_conditions_missing" in story.do(Act("SV", "correction", short), minutes=0.5).codes, missing
    assert story.do(welded(story, "SV"), minutes=95).credit


@pytest.mark.rule(403)
def test_a_permit_too_short_for_the_cool_down_shows_no_cool_down(story: Story) -> None:
    story.do(grind())
    too_large(story)
    assert "correction_conditions_missing" in story.do(welded(story, "SV"), minutes=20).codes


@pytest.mark.rule(404)
def test_welding_up_what_is_too_small_already_goes_the_wrong_way(story: Story) -> None:
    wrong = story.do(welded(story, "SV"), minutes=95)
    assert wrong.codes == {"wrong_direction", "correction_not_accepted"}
    assert "Grind the stop pad" in wrong.what(404)


@pytest.mark.rule(404)
def test_nothing_is_corrected_that_no_reading_asks_for() -> None:
    story = Story().until("measure-lock")
    assert "wrong_direction" in story.do(grind()).codes
    story.do(jaw_gap(".219", ".219", ".219"))
    assert "wrong_direction" in story.do(grind()).codes


@pytest.mark.rule(404)
def test_a_reading_too_near_its_limit_may_be_corrected_away_from_it() -> None:
    story = Story().until("measure-lock")
    story.do(jaw_gap(".186", ".187", ".187"))
    assert story.do(grind()).credit
    assert not story.bench.holds


@pytest.mark.rule(405)
def test_the_named_face_and_no_other_is_worked(story: Story) -> None:
    assert story.do(grind(face="jaw tip")).codes == {"wrong_face", "correction_not_accepted"}


@pytest.mark.rule(403)
def test_a_permit_is_for_a_days_work_and_not_for_years(story: Story) -> None:
    for days, credit in ((1.1, False), (0.9, True)):
        too_large(story)
        weld = welded(story, "SV")
        begun = datetime.fromisoformat(weld.body["permit_from"])
        until = {"permit_to": (begun + timedelta(days=days)).isoformat()}
        assert story.do(Act("SV", "correction", {**weld.body, **until}), minutes=95).credit is credit


@pytest.mark.rule(409)
def test_grinding_the_right_face_does_not_give_back_what_was_taken_from_another(story: Story) -> None:
    wrong = story.do(grind(face="jaw tip"))
    assert story.do(grind()).credit
    assert set(story.bench.holds) == {wrong.id}
    assert story.do(Act("JD", "clear", {"hold": wrong.id, "reason": "A scratch; the tip is whole."})).credit
    assert not story.bench.holds


@pytest.mark.rule(406)
def test_a_casting_is_never_repaired() -> None:
    story = Story().until("inspect-casting")
    worn = {**CASTING[1], "bore": {**CASTING[1]["bore"], "diameters": [["1.503", "1.548", "1.566", "1.531"]] * 2}}
    story.do(reading("inspect-casting", [CASTING[0], worn]))
    body = {"step": "inspect-casting", "characteristic": "bore-elongation", "correction": "weld-and-ream"}
    repair = story.do(Act("SV", "correction", {**body, "face": "jaw bore"}))
    assert {"casting_repair", "correction_not_named", "correction_not_accepted"} <= repair.codes
    assert story.bench.holds[repair.id].needs == 2


@pytest.mark.rule(407)
def test_out_on_the_other_side_after_a_correction_is_over_corrected(story: Story) -> None:
    story.do(grind())
    large = too_large(story)
    assert large.codes == {"out_of_limits", "over_corrected"}
    assert large.what(407) == "Jaw gap was too small before the correction, and is too large now."


@pytest.mark.rule(408)
def test_a_face_ground_past_flush_is_beyond_cure(story: Story) -> None:
    flush = story.do(grind(past_flush=True))
    assert flush.codes == {"past_flush", "correction_not_accepted"}
    assert story.do(Act("RM", "condemn", {"reason": "Past flush."})).codes == set()
    assert story.bench.holds[flush.id].needs == 2


@pytest.mark.rule(409)
def test_a_weld_by_who_may_not_holds_the_job_until_it_is_made_good(story: Story) -> None:
    begun = story.do(welded(story, "LP"), minutes=95)
    assert begun.codes == {"not_qualified", "wrong_direction", "correction_not_accepted"}
    assert story.do(grind("SV")).credit  # the reading that asked for it still stands
    too_large(story)
    assert begun.id in story.bench.holds  # a grind makes no weld good
    assert story.do(welded(story, "SV"), minutes=95).credit
    assert not story.bench.holds
    assert [made.correction for made in story.bench.corrected[AT]] == ["grind-stop-pad", "weld-stop-pad"]


@pytest.mark.rule(409)
def test_good_readings_after_a_correction_without_credit_do_not_open_the_gate(story: Story) -> None:
    refused = story.do(grind(face="jaw tip"))
    story.do(jaw_gap(".219", ".219", ".219", reason="Measured after the grind."))
    story.do(LOCK_TRAVEL)
    assert story.has_credit("measure-lock")
    assert set(story.bench.holds) == {refused.id}
    assert story.do(Act("JD", "clear", {"hold": refused.id, "reason": "Looked at the tip; only polished."})).credit
    assert not story.bench.holds


def test_an_amendment_gives_a_correction_the_permit_that_was_forgotten_and_lifts_its_hold(story: Story) -> None:
    story.do(grind())
    too_large(story)
    whole = welded(story, "SV").body
    forgotten = {name: value for name, value in whole.items() if name != "permit"}
    weld = story.do(Act("SV", "correction", forgotten), minutes=95)
    assert not weld.credit
    content = {"kind": "correction", **whole}
    amendment = story.do(Act("SV", "amendment", {"amends": weld.id, "reason": "Permit number.", "content": content}))
    assert amendment.credit
    assert not story.bench.holds
    assert len(story.bench.corrected[AT]) == 2


@pytest.mark.rule(403)
def test_a_condition_that_was_forgotten_is_named_a_day_later_whatever_was_done_since(story: Story) -> None:
    story.do(grind())
    too_large(story)
    whole = welded(story, "SV").body
    forgotten = {name: value for name, value in whole.items() if name != "crack_check"}
    weld = story.do(Act("SV", "correction", forgotten), minutes=95)
    story.do(jaw_gap(".219", ".219", ".219", reason="Welded up."))
    story.do(Act("RM", "rework", {"step": "cam-bolt-finger-tight", "reason": "Cross-threaded."}))
    content = {"kind": "correction", **whole}
    said = Act("SV", "amendment", {"amends": weld.id, "reason": "Dye was used.", "content": content})
    assert story.do(said, minutes=60 * 24).credit
    assert not story.bench.holds


@pytest.mark.rule(403)
def test_an_amendment_lets_nothing_cool_down(story: Story) -> None:
    story.do(grind())
    too_large(story)
    body = welded(story, "SV").body
    hot = story.do(Act("SV", "correction", body), minutes=20)
    assert "correction_conditions_missing" in hot.codes
    said = {"amends": hot.id, "reason": "It was cold.", "content": {"kind": "correction", **body}}
    assert "correction_conditions_missing" in story.do(Act("SV", "amendment", said), minutes=60).codes
