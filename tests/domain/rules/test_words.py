"""Amendments as an old hand would use them: to launder what earned nothing, or by a phone that is not his any more."""

from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from jobs.domain.facts import Key, LegalHold
from jobs.domain.finding import Response
from jobs.domain.gate import worth_a_look
from jobs.domain.procedure_document import publishable
from tests.acts import ADJUST_SCREW, LOCK_TRAVEL, PASTE, Act, jaw_gap, step
from tests.domain.rules.story import Logged, Story
from tests.domain.rules.test_corrections import grind
from tests.domain.rules.test_laundering import amend, gap
from tests.strategies import FILES, JOB, PROCEDURES, START, device, person_id, world_facts

GOOD = gap(".219", ".219", ".219")


def flags(entry: Logged) -> set[str]:
    return {found.code for found in entry.outcome.findings if found.response is Response.FLAG}


def lost_at(phone: str, minutes: int) -> Any:
    facts, since = world_facts(), START + timedelta(minutes=minutes)
    key = facts.keys[device(phone)]
    return replace(facts, keys={**facts.keys, device(phone): replace(key, revoked_from=since)})


@pytest.mark.rule(203)
def test_a_lost_phone_amends_nothing_of_what_its_owner_did_with_it() -> None:
    story = Story(facts=lost_at("RM", 60 * 8)).until("measure-lock")
    failed = story.do(jaw_gap(".156", ".157", ".156"))
    story.now = START + timedelta(hours=9)
    said = amend(story, failed, "reading", step="measure-lock", readings=[GOOD])
    assert said.codes == {"key_not_valid"}
    assert failed.codes == {"out_of_limits"}
    assert not story.has_credit("measure-lock")


@pytest.mark.rule(203)
def test_who_has_a_new_phone_amends_what_he_did_with_the_old_one() -> None:
    facts = world_facts()
    late = Key(device("RM", 2), person_id("RM"), START + timedelta(hours=9))
    story = Story(facts=replace(facts, keys={**facts.keys, late.thumbprint: late})).until("measure-lock")
    gaps = story.do(jaw_gap(".281", ".219", ".219"))
    assert not gaps.credit
    story.now = START + timedelta(hours=10)
    content = {"kind": "reading", "step": "measure-lock", "readings": [GOOD]}
    said = story.do(Act("RM", "amendment", {"amends": gaps.id, "reason": "Mistyped.", "content": content}), phone=2)
    assert said.credit


@pytest.mark.rule(313)
def test_a_step_that_earned_nothing_and_is_amended_into_credit_is_flagged() -> None:
    story = Story().until("adjust")
    wrong = story.do(step("adjust", "SV", adjustment={"turns_back": {"text": "3/4", "unit": "turn"}}))
    assert wrong.codes == {"adjustment_not_as_told"}
    said = amend(story, wrong, "step", who="SV", **ADJUST_SCREW.body)
    assert said.credit
    assert flags(said) == {"amended_from_fail"}
    assert "3/4" in said.what(313)


@pytest.mark.rule(313)
def test_whoever_signs_is_shown_what_was_amended_into_credit_and_not_what_earned_nothing() -> None:
    story = Story().until("measure-lock")
    failed = story.do(jaw_gap(".156", ".157", ".156"))
    before = worth_a_look(story.bench)
    said = amend(story, failed, "reading", step="measure-lock", readings=[GOOD])
    new = set(worth_a_look(story.bench)) - set(before)
    assert [(flag.code, flag.step, flag.entry) for flag in new] == [("amended_from_fail", "measure-lock", said.id)]


@pytest.mark.rule(313)
def test_a_step_with_credit_that_is_amended_into_credit_is_not_flagged() -> None:
    story = Story().through("left-jaw-pin")
    pin = story.logged[-1]
    said = amend(story, pin, "step", step="left-jaw-pin", consumables={"pin-paste": "AS-7"})
    assert (said.credit, flags(said)) == (True, set())


@pytest.mark.rule(313)
def test_a_reading_taken_again_without_a_reason_is_not_amended_into_one_unseen() -> None:
    story = Story().until("measure-lock")
    story.do(jaw_gap(".156", ".157", ".156"))
    again = story.do(jaw_gap(".219", ".219", ".219"))
    assert again.codes == {"read_again_without_reason"}
    said = amend(story, again, "reading", step="measure-lock", readings=[GOOD])
    assert flags(said) == {"amended_from_fail"}


@pytest.mark.rule(313)
def test_a_flag_travels_along_a_chain_of_amendments() -> None:
    story = Story().until("measure-lock")
    failed = story.do(jaw_gap(".156", ".157", ".156"))
    first = amend(story, failed, "reading", step="measure-lock", readings=[GOOD])
    second = amend(story, first, "reading", step="measure-lock", readings=[GOOD])
    assert flags(second) == {"amended_from_fail"}


@pytest.mark.rule(113)
def test_words_do_not_do_what_was_not_applicable() -> None:
    text = (PROCEDURES / FILES["PR-11"]).read_text()
    free = text.replace("  - key: left-jaw\n", "  - key: left-jaw\n    may_be_not_applicable: true\n", 1)
    story = Story(procedure=publishable(free)[2]).until("left-jaw")
    skipped = story.do(step("left-jaw", not_applicable=True))
    assert skipped.credit
    assert amend(story, skipped, "step", step="left-jaw").codes == {"amends_nothing"}
    assert skipped.credit


@pytest.mark.rule(711)
def test_nobody_amends_what_was_done_to_a_unit_that_is_kept_as_evidence() -> None:
    since = START + timedelta(hours=9)
    hold = LegalHold(since)
    story = Story(facts=replace(world_facts(), legal_holds={JOB: (hold,)})).until("measure-lock")
    failed = story.do(jaw_gap(".156", ".157", ".156"))
    story.now = START + timedelta(hours=10)
    said = amend(story, failed, "reading", step="measure-lock", readings=[GOOD])
    assert said.codes == {"evidence_touched"}
    assert not said.credit


@pytest.mark.rule(703)
def test_a_good_grind_does_not_clear_the_hold_of_a_forked_phone_that_ground_before() -> None:
    story = Story().until("measure-lock")
    story.do(jaw_gap(".156", ".157", ".156"))
    last = story.logged[-1].entry.signed.device_seq
    forked = story.do(grind(), device_seq=last)
    assert forked.codes == {"forked_sequence", "correction_not_accepted"}
    assert story.do(grind("SV")).credit
    assert set(story.bench.holds) == {forked.id}


@pytest.mark.rule(703)
def test_who_forked_a_phone_does_not_clear_it_by_calling_it_a_hold() -> None:
    story = Story()
    story.do(step("identify", "JD"))
    forked = story.do(Act("JD", "hold", {"reason": "A crack is suspected."}), device_seq=1)
    assert "forked_sequence" in forked.codes
    assert story.do(Act("JD", "clear", {"hold": forked.id, "reason": "None seen."})).codes == {"clears_nothing"}


@pytest.mark.rule(205)
def test_a_pause_that_is_taken_over_does_not_take_a_job_that_was_offered_to_somebody_else() -> None:
    story = Story()
    offer = story.do(Act("RM", "hand_over", {"state_note": "On stands.", "to": str(person_id("SV"))}))
    pause = story.do(Act("RM", "pause", {"state_note": "On stands."}))
    story.do(Act("LP", "hand_over", {"state_note": "Mine.", "accepts": pause.id}))
    assert story.bench.paused_by is None
    assert story.bench.offered_by == offer.id
    assert story.do(step("identify", "LP")).codes >= {"hand_over_not_accepted"}


@pytest.mark.rule(315)
@pytest.mark.parametrize("first", [".219", "5.6"])
def test_an_earlier_reading_is_not_amended_over_a_later_one_that_failed(first: str) -> None:
    story = Story().until("measure-lock")
    story.do(LOCK_TRAVEL)
    earlier = story.do(jaw_gap(first, first, first))
    failed = story.do(jaw_gap(".156", ".157", ".156"))
    said = amend(story, earlier, "reading", step="measure-lock", readings=[GOOD])
    assert said.codes >= {"read_since"}
    assert not story.has_credit("measure-lock")
    again = amend(story, said, "reading", step="measure-lock", readings=[GOOD])
    assert again.codes >= {"read_since"}
    assert not story.has_credit("measure-lock")
    assert amend(story, failed, "reading", step="measure-lock", readings=[GOOD]).credit
    assert story.has_credit("measure-lock")


@pytest.mark.rule(315)
def test_that_an_earlier_reading_had_failed_is_heard_whenever_it_is_said() -> None:
    story = Story().until("measure-lock")
    story.do(LOCK_TRAVEL)
    earlier = story.do(jaw_gap(".219", ".219", ".219"))
    assert story.do(jaw_gap(".220", ".220", ".220")).credit
    said = amend(story, earlier, "reading", step="measure-lock", readings=[gap(".156", ".157", ".156")])
    assert said.codes == {"out_of_limits"}
    assert not story.has_credit("measure-lock")


@pytest.mark.rule(109)
def test_what_earned_nothing_before_it_was_undone_is_not_amended_into_credit() -> None:
    story = Story().until("left-jaw-pin")
    dry = story.do(step("left-jaw-pin"))
    assert dry.codes == {"consumable_not_allowed"}
    story.do(Act("RM", "rework", {"step": "left-jaw", "reason": "Set askew."}))
    said = amend(story, dry, "step", step="left-jaw-pin", consumables=PASTE)
    assert said.codes == {"undone"}
    assert not story.has_credit("left-jaw-pin")


@pytest.mark.rule(309)
def test_a_reading_in_the_wrong_unit_from_before_the_rework_is_not_amended_into_one_from_after_it() -> None:
    story = Story().until("measure-lock")
    odd = story.do(jaw_gap("5.6", "5.6", "5.6"))
    assert odd.codes == {"reading_not_judged"}
    story.do(Act("RM", "rework", {"step": "cam-bolt-finger-tight", "reason": "Cross-threaded."}))
    story.do(LOCK_TRAVEL)
    said = amend(story, odd, "reading", step="measure-lock", readings=[GOOD])
    assert said.codes == {"reading_before_rework"}
    assert not story.has_credit("measure-lock")


@pytest.mark.rule(109)
def test_work_that_was_done_again_with_credit_is_not_outdone_by_words_about_the_first_time() -> None:
    story = Story().until("adjust")
    few = story.do(step("adjust", "SV", adjustment={"turns_back": {"text": "3/4", "unit": "turn"}}))
    right = story.do(ADJUST_SCREW)
    assert amend(story, few, "step", who="SV", **ADJUST_SCREW.body).codes == {"undone"}
    assert story.bench.performed["adjust"].entry == right.id


@pytest.mark.rule(113)
def test_words_about_nothing_are_not_amended_into_work() -> None:
    story = Story()
    nothing = {"amends": str(uuid4()), "reason": "Mistyped.", "content": {"kind": "step", **ADJUST_SCREW.body}}
    first = story.do(Act("LP", "amendment", nothing))
    assert first.codes == {"amends_nothing"}
    assert amend(story, first, "step", who="LP", **ADJUST_SCREW.body).codes == {"amends_nothing"}
    assert not story.has_credit("adjust")


@pytest.mark.rule(113)
def test_what_somebody_else_read_is_not_amended_by_way_of_an_amendment_of_ones_own() -> None:
    story = Story().until("measure-lock")
    failed = story.do(jaw_gap(".156", ".157", ".156"))
    first = amend(story, failed, "reading", who="LP", step="measure-lock", readings=[GOOD])
    assert first.codes == {"amends_nothing"}
    second = amend(story, first, "reading", who="LP", step="measure-lock", readings=[GOOD])
    assert second.codes == {"amends_nothing"}
    assert failed.codes == {"out_of_limits"}


@pytest.mark.rule(113)
def test_a_lost_phones_amendment_is_no_way_around_it_either() -> None:
    facts = lost_at("RM", 60 * 8)
    new = Key(device("RM", 2), person_id("RM"), START + timedelta(hours=9))
    story = Story(facts=replace(facts, keys={**facts.keys, new.thumbprint: new})).until("measure-lock")
    story.now = START + timedelta(hours=9, minutes=30)
    nothing = {"amends": str(uuid4()), "reason": "Mistyped.", "content": {"kind": "step", "step": "refit"}}
    first = story.do(Act("RM", "amendment", nothing))
    assert first.codes == {"key_not_valid", "amends_nothing"}
    again = {**nothing, "amends": str(first.id)}
    assert story.do(Act("RM", "amendment", again), phone=2).codes == {"amends_nothing"}


@pytest.mark.rule(114)
def test_of_two_amendments_of_one_entry_the_last_one_speaks_alone() -> None:
    story = Story().through("issue-kit")
    issued = story.logged[-1]
    first = amend(story, issued, "step", step="issue-kit", kit={"serial": "K-T2-0412"})
    assert first.credit
    second = amend(story, issued, "step", step="issue-kit", kit={"serial": "K-T2-0412"})
    assert second.credit
    assert first.codes == {"amended"}
    assert [kit.entry for kit in story.bench.kits] == [second.id]


@pytest.mark.rule(313)
def test_who_owned_to_a_failed_reading_does_not_take_that_back_unseen() -> None:
    story = Story().until("measure-lock")
    good = story.do(jaw_gap(".219", ".219", ".219"))
    owned = amend(story, good, "reading", step="measure-lock", readings=[gap(".156", ".157", ".156")])
    assert owned.codes == {"out_of_limits"}
    back = amend(story, good, "reading", step="measure-lock", readings=[GOOD])
    assert flags(back) == {"amended_from_fail"}
