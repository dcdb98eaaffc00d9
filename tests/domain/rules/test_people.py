"""Rules 201 to 208: who may, at the time of the act; by person, over all devices."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from jobs.domain.facts import Facts, Qualification
from jobs.domain.rules.r206_weld_lapsed import months_later
from tests.acts import ADJUST_SCREW, CASTING, SEEN_11, Act, cycle, jaw_gap, reading, step
from tests.domain.rules.story import Story, with_person
from tests.strategies import EARLY, START, device, person_id, world_facts

EVERYTHING = frozenset({"strip", "rebuild", "measure", "weld", "adjust", "verify", "release"})
WELD = {
    "step": "measure-lock",
    "characteristic": "jaw-gap",
    "correction": "weld-stop-pad",
    "face": "jaw stop pad",
    "permit": "HW-B-053",
    "crack_check": True,
    "cooled": True,
}


def welded(story: Story, who: str) -> Act:
    """A weld with all that it requires, logged an hour and a half after the permit's beginning."""
    begun, done = story.now + timedelta(minutes=3), story.now + timedelta(minutes=95)
    interval = {"permit_from": begun, "permit_to": done + timedelta(minutes=5), "fire_watch_until": done}
    return Act(who, "correction", {**WELD, **{name: at.isoformat() for name, at in interval.items()}})


@pytest.mark.rule(201)
def test_who_is_not_qualified_on_the_day_earns_nothing() -> None:
    until = START + timedelta(hours=1)
    facts = with_person(world_facts(), "RM", Qualification(EVERYTHING, EARLY, until))
    story = Story(facts=facts)
    assert story.do(step("identify")).credit
    late = story.do(step("lift-off"), minutes=90)
    assert "not_qualified" in late.codes
    assert late.what(201) == "RM was not qualified to strip on 2026-03-02."


@pytest.mark.rule(201)
def test_a_qualification_withdrawn_in_between_counts_before_and_not_after() -> None:
    withdrawn = Qualification(EVERYTHING, EARLY, None, START + timedelta(minutes=10))
    story = Story(facts=with_person(world_facts(), "RM", withdrawn))
    assert story.do(step("identify")).credit
    assert "not_qualified" in story.do(step("lift-off"), minutes=30).codes


@pytest.mark.rule(202)
def test_who_adjusted_does_not_verify_on_whatever_phone() -> None:
    story = Story().until("verify")
    own = story.do(cycle(1, SEEN_11, "SV"))
    other = story.do(cycle(1, SEEN_11, "SV"), phone=2)
    assert own.codes == other.codes == {"not_independent"}
    assert own.what(202) == "SV adjusted on this job and is not independent."


@pytest.mark.rule(202)
def test_who_made_a_correction_does_not_verify_even_if_it_earned_nothing() -> None:
    story = Story().until("measure-lock")
    story.do(jaw_gap(".156", ".157", ".156"))
    body = {"step": "measure-lock", "characteristic": "jaw-gap", "correction": "grind-stop-pad", "face": "pawl"}
    assert not story.do(Act("OK", "correction", body)).credit
    assert "not_independent" in story.do(cycle(1, SEEN_11, "OK")).codes


@pytest.mark.rule(203)
def test_what_a_phone_signs_from_its_loss_on_earns_nothing() -> None:
    facts = world_facts()
    lost = replace(facts.keys[device("RM")], revoked_from=START + timedelta(minutes=10), reason="lost")
    story = Story(facts=replace(facts, keys={**facts.keys, lost.thumbprint: lost}))
    assert story.do(step("identify")).credit
    assert "key_not_valid" in story.do(step("lift-off"), minutes=30).codes
    assert "key_not_valid" not in story.do(step("lift-off"), phone=2).codes


@pytest.mark.rule(203)
def test_an_act_dated_before_the_key_was_enrolled_earns_nothing() -> None:
    facts = world_facts()
    later = replace(facts.keys[device("RM")], enrolled_at=START + timedelta(hours=2))
    story = Story(facts=replace(facts, keys={**facts.keys, later.thumbprint: later}))
    assert "key_not_valid" in story.do(step("identify")).codes


@pytest.mark.rule(204)
def test_a_casting_is_condemned_by_two_persons_and_no_second_phone_makes_a_second_person() -> None:
    story = Story().until("inspect-casting")
    first = story.do(Act("RM", "condemn", {"reason": "Cracked.", "step": "inspect-casting"}))
    concurring = {"reason": "I see it too.", "concurs_with": first.id}
    assert story.do(Act("RM", "condemn", concurring), phone=2).codes == {"no_second_person"}
    assert story.bench.concurred_by is None
    assert story.do(Act("OK", "condemn", concurring)).credit
    assert story.bench.concurred_by is not None


@pytest.mark.rule(204)
def test_a_condemnation_that_nobody_concurs_with_is_lifted_by_a_lead() -> None:
    story = Story().through("pull-test")
    first = story.do(Act("RM", "condemn", {"reason": "Looks tired."}))
    released = {"chain_head": "ab" * 32, "statement": "Released."}
    assert story.do(Act("JD", "release", released)).codes == {"gate_closed"}
    assert story.do(Act("RM", "clear", {"hold": first.id, "reason": "Changed my mind."})).codes == {"clears_nothing"}
    assert story.do(Act("JD", "clear", {"hold": first.id, "reason": "Dye shows nothing."})).credit
    assert story.do(Act("JD", "release", released)).credit


@pytest.mark.rule(205)
def test_a_job_on_offer_is_in_nobodys_hands_until_it_is_accepted() -> None:
    story = Story().until("yoke")
    offer = story.do(Act("RM", "hand_over", {"state_note": "Left jaw in.", "to": person_id("SV")}))
    assert story.do(step("yoke")).codes == {"hand_over_not_accepted"}
    assert story.do(step("yoke", "SV")).codes == {"hand_over_not_accepted"}
    accepting = {"state_note": "As found.", "accepts": offer.id}
    assert story.do(Act("LP", "hand_over", accepting)).credit  # LP may release in this world, so he decides
    assert story.do(step("yoke", "LP")).credit


@pytest.mark.rule(205)
def test_only_whom_it_was_offered_to_accepts_or_a_lead() -> None:
    no_lead = Qualification(EVERYTHING - {"release"}, EARLY, None)
    story = Story(facts=with_person(world_facts(), "LP", no_lead)).until("yoke")
    offer = story.do(Act("RM", "hand_over", {"state_note": "Left jaw in.", "to": person_id("SV")}))
    accepting = {"state_note": "As found.", "accepts": offer.id}
    assert story.do(Act("LP", "hand_over", accepting)).codes == {"hand_over_not_accepted"}
    assert story.do(Act("SV", "hand_over", accepting)).credit
    assert story.do(Act("SV", "hand_over", accepting)).codes == {"hand_over_not_accepted"}  # nothing is on offer


@pytest.mark.rule(205)
def test_nobody_else_offers_to_himself_what_is_on_offer() -> None:
    no_lead = Qualification(EVERYTHING - {"release"}, EARLY, None)
    story = Story(facts=with_person(world_facts(), "LP", no_lead)).until("yoke")
    offer = story.do(Act("RM", "hand_over", {"state_note": "Left jaw in.", "to": person_id("SV")}))
    for whom in ({"to": person_id("LP")}, {}):
        assert story.do(Act("LP", "hand_over", {"state_note": "Mine.", **whom})).codes == {"hand_over_not_accepted"}
    assert story.bench.offered_by == offer.id
    assert story.do(Act("RM", "hand_over", {"state_note": "SV is ill.", "to": person_id("LP")})).credit
    assert story.do(step("yoke", "SV")).codes == {"hand_over_not_accepted"}


def _weld_story(facts: Facts) -> Story:
    story = Story(facts=facts).until("measure-lock")
    story.do(jaw_gap(".284", ".284", ".284", who="SV"))
    return story


@pytest.mark.rule(206)
def test_a_weld_qualification_that_was_not_used_for_six_months_has_lapsed() -> None:
    tested = START - timedelta(days=300)
    story = _weld_story(with_person(world_facts(), "SV", Qualification(EVERYTHING, tested, None)))
    lapsed = story.do(welded(story, "SV"), minutes=95)
    assert lapsed.codes == {"weld_qualification_lapsed", "correction_not_accepted"}


@pytest.mark.rule(206)
def test_a_weld_on_another_job_keeps_the_qualification_alive() -> None:
    tested, used = START - timedelta(days=300), START - timedelta(days=10)
    facts = with_person(world_facts(), "SV", Qualification(EVERYTHING, tested, None), hot_work=[used])
    story = _weld_story(facts)
    assert story.do(welded(story, "SV"), minutes=95).credit


@pytest.mark.rule(206)
def test_months_are_counted_by_the_calendar() -> None:
    assert months_later(datetime(2026, 2, 20, 8, tzinfo=START.tzinfo), 6).isoformat() == "2026-08-20T08:00:00+00:00"
    assert months_later(datetime(2026, 8, 31, tzinfo=START.tzinfo), 6).isoformat() == "2027-02-28T00:00:00+00:00"
    assert months_later(datetime(2025, 12, 31, tzinfo=START.tzinfo), 2).isoformat() == "2026-02-28T00:00:00+00:00"


@pytest.mark.rule(207)
def test_two_people_on_one_phone_within_a_minute_are_flagged() -> None:
    facts = world_facts()
    shared = {key: replace(facts.keys[key], device="Bay 2 tablet") for key in (device("SV"), device("OK"))}
    story = Story(facts=replace(facts, keys={**facts.keys, **shared})).until("adjust")
    story.do(ADJUST_SCREW)
    hasty = story.do(cycle(1, SEEN_11, "OK"), minutes=0.6)
    assert hasty.credit
    assert hasty.codes == {"two_people_one_phone"}
    assert story.do(cycle(2, SEEN_11, "OK")).codes == set()


@pytest.mark.rule(208)
def test_a_condemnation_without_ground_is_flagged_and_one_with_a_reading_is_not() -> None:
    story = Story().through("cool")
    assert story.do(Act("RM", "condemn", {"reason": "Looks tired."})).codes == {"condemned_without_ground"}
    worn = {**CASTING[1], "bore": {**CASTING[1]["bore"], "diameters": [["1.503", "1.548", "1.566", "1.531"]] * 2}}
    story.do(reading("inspect-casting", [CASTING[0], worn]))
    assert story.do(Act("RM", "condemn", {"reason": "Bore 0.063 out."})).codes == set()
