"""Rules 101 to 118: order, invalidation, time that work takes, holds, amendments, pauses."""

from datetime import timedelta

import pytest

from tests.acts import ADJUST_SCREW, CAM_BOLT, LOCK_TRAVEL, PASTE, PIECES, SEEN_11, Act, bolts, cycle, jaw_gap, step
from tests.domain.rules.story import Story
from tests.strategies import person_id


@pytest.mark.rule(101)
def test_the_right_jaw_before_the_yoke_is_kept_without_credit_and_says_why() -> None:
    story = Story().until("yoke")
    early = story.do(step("right-jaw"))
    assert not early.credit
    assert early.codes == {"prerequisite_missing"}
    assert "Yoke and yoke spring" in early.what(101)
    assert story.do(step("yoke")).credit
    assert story.do(step("right-jaw")).credit


@pytest.mark.rule(102)
def test_the_yoke_cannot_be_entered_once_the_right_jaw_is_in_and_taking_the_jaw_out_frees_it() -> None:
    story = Story().through("right-jaw")
    again = story.do(Act("RM", "rework", {"step": "yoke", "reason": "Spring was twisted."}))
    assert again.codes == {"walled_in"}
    assert not story.has_credit("yoke")
    assert not story.has_credit("right-jaw")  # it must have been out
    assert story.do(step("yoke")).credit


@pytest.mark.rule(103)
def test_a_step_logged_again_without_a_reason_keeps_its_first_credit_and_still_undoes() -> None:
    story = Story().through("cool")
    again = story.do(step("clean"))
    assert again.codes == {"done_again_without_reason"}
    assert story.has_credit("clean")
    assert not story.has_credit("cool")


@pytest.mark.rule(103)
def test_what_is_done_again_badly_is_not_good_any_more() -> None:
    story = Story().through("left-jaw-pin")
    again = story.do(step("left-jaw-pin", consumables={"pin-paste": "axle grease"}))
    assert {"done_again_without_reason", "consumable_not_allowed"} <= again.codes
    assert not story.has_credit("left-jaw-pin")


@pytest.mark.rule(104)
def test_nobody_can_declare_the_pull_test_not_applicable() -> None:
    story = Story().until("pull-test")
    assert story.do(step("pull-test", not_applicable=True)).codes == {"not_applicable_refused"}
    assert not story.has_credit("pull-test")


@pytest.mark.rule(105)
def test_a_verification_is_made_of_its_cycles_and_never_of_one_done() -> None:
    story = Story().until("verify")
    assert "wrong_kind_of_entry" in story.do(step("verify", "OK")).codes
    assert not story.has_credit("verify")


@pytest.mark.rule(106)
def test_a_cool_down_of_thirty_minutes_is_not_over_after_eleven() -> None:
    story = Story().until("cool")
    early = story.do(step("cool"), minutes=11)
    assert early.codes == {"too_quick"}
    assert early.what(106) == "“Let it cool” takes 30 min at least; 11 min had passed."
    assert story.do(step("cool"), minutes=19).credit


@pytest.mark.rule(106)
def test_work_that_says_when_it_began_is_measured_from_there() -> None:
    story = Story().until("strip")
    begun = story.now + timedelta(minutes=40)
    hasty = story.do(step("strip", readings=PIECES, started_at=begun.isoformat()), minutes=50)
    assert "too_quick" in hasty.codes


@pytest.mark.rule(107)
def test_steps_logged_in_a_row_are_credited_and_flagged() -> None:
    story = Story().until("left-jaw")
    story.do(step("left-jaw"))
    hasty = story.do(step("left-jaw-pin", consumables=PASTE), minutes=0.1)
    assert hasty.credit
    assert hasty.codes == {"impossible_pace"}


@pytest.mark.rule(109)
def test_taking_the_plate_off_again_undoes_everything_up_to_the_pull_test() -> None:
    story = Story().through("pull-test")
    refit = next(one for one in story.logged if one.entry.signed.step == "refit")
    story.do(Act("RM", "rework", {"step": "lift-off", "reason": "A bracket was cracked."}))
    assert "undone" in refit.codes
    assert not refit.credit
    for undone in ("strip", "clean", "left-jaw", "yoke", "measure-lock", "cam-bolt-torque", "adjust", "verify"):
        assert not story.has_credit(undone), undone
    assert story.has_credit("identify")


@pytest.mark.rule(109)
def test_work_without_credit_undoes_all_the_same_because_the_metal_does_not_know() -> None:
    story = Story().through("pull-test")
    story.do(Act("LP", "rework", {"step": "adjust", "reason": "Felt loose."}))  # the turns are not recorded
    assert not story.has_credit("adjust")
    assert not story.has_credit("verify")


@pytest.mark.rule(110)
def test_after_the_release_nothing_earns_credit_and_work_undermines_it() -> None:
    story = Story().through("pull-test")
    released = story.do(Act("JD", "release", {"chain_head": "ab" * 32, "statement": "Released."}))
    assert released.credit
    late = story.do(Act("RM", "rework", {"step": "refit", "reason": "Wrong washers."}))
    assert late.codes >= {"after_the_end"}
    assert story.bench.undermined_by == late.id
    assert story.bench.released_by == released.id


@pytest.mark.rule(111)
def test_while_a_job_is_paused_nothing_earns_credit() -> None:
    story = Story().until("yoke")
    story.do(Act("RM", "pause", {"state_note": "Left jaw in, pin driven."}))
    assert story.do(step("yoke")).codes == {"job_is_paused"}
    story.do(Act("SV", "resume", {"state_read": True}))
    assert story.do(step("yoke")).credit


@pytest.mark.rule(112)
def test_a_hold_is_cleared_by_somebody_else_than_who_did_the_work() -> None:
    story = Story().until("measure-lock")
    near = story.do(jaw_gap(".186", ".187", ".187"))
    assert near.codes == {"conditional"}
    assert story.do(Act("RM", "clear", {"hold": near.id, "reason": "Good enough."})).codes == {"clears_nothing"}
    assert story.bench.holds
    assert story.do(Act("JD", "clear", {"hold": near.id, "reason": "Seen with the go blade."})).credit
    assert near.credit
    story.do(LOCK_TRAVEL)
    assert story.has_credit("measure-lock")


@pytest.mark.rule(112)
def test_a_hold_set_by_hand_closes_the_gate_until_it_is_cleared() -> None:
    story = Story().through("pull-test")
    hold = story.do(Act("LP", "hold", {"reason": "A cotter is missing, I think."}))
    released = {"chain_head": "ab" * 32, "statement": "Released."}
    assert story.do(Act("JD", "release", released)).codes == {"gate_closed"}
    assert story.do(Act("JD", "clear", {"hold": hold.id, "reason": "Counted; it is there."})).credit
    assert story.do(Act("JD", "release", released)).credit


@pytest.mark.rule(113)
def test_only_who_made_an_entry_amends_it_and_a_refused_amendment_changes_nothing() -> None:
    story = Story().through("left-jaw-pin")
    target = story.logged[-1]
    said = {"kind": "step", "step": "left-jaw-pin", "consumables": {"pin-paste": "AS-7"}}
    other = story.do(Act("SV", "amendment", {"amends": target.id, "reason": "I saw it.", "content": said}))
    assert other.codes == {"amends_nothing"}
    assert target.credit
    assert story.has_credit("left-jaw-pin")


@pytest.mark.rule(114)
def test_a_correction_never_hides_the_entry_it_corrects() -> None:
    story = Story().until("left-jaw-pin")
    mistyped = story.do(step("left-jaw-pin", consumables={"pin-paste": "AS7"}))
    said = {"kind": "step", "step": "left-jaw-pin", "consumables": {"pin-paste": "AS-7"}}
    amendment = story.do(Act("RM", "amendment", {"amends": mistyped.id, "reason": "Mistyped.", "content": said}))
    assert mistyped.codes == {"consumable_not_allowed", "amended"}
    assert amendment.credit
    assert story.bench.credited["left-jaw-pin"] == amendment.id


@pytest.mark.rule(114)
def test_an_amendment_is_words_and_undoes_no_work() -> None:
    story = Story().through("pull-test")
    target = next(one for one in story.logged if one.entry.signed.step == "refit")
    said = {"kind": "step", "step": "refit", "fasteners": bolts("base-bolts", 12)}
    story.do(Act("RM", "amendment", {"amends": target.id, "reason": "Wrench forgotten.", "content": said}))
    assert story.has_credit("refit")
    assert story.has_credit("verify")
    wrong = {"kind": "step", "step": "refit", "fasteners": bolts("base-bolts", 11)}
    later = story.logged[-1]
    story.do(Act("RM", "amendment", {"amends": later.id, "reason": "It was eleven.", "content": wrong}))
    assert not story.has_credit("refit")


@pytest.mark.rule(114)
def test_an_amendment_cures_no_lack_of_order_or_qualification() -> None:
    story = Story().until("yoke")
    early = story.do(step("right-jaw"))
    story.do(step("yoke"))
    said = {"kind": "step", "step": "right-jaw"}
    amendment = story.do(Act("RM", "amendment", {"amends": early.id, "reason": "Order.", "content": said}))
    assert amendment.codes == {"prerequisite_missing", "undone"}
    assert not story.has_credit("right-jaw")


@pytest.mark.rule(116)
def test_a_job_resumed_with_its_state_unread_stays_paused() -> None:
    story = Story().until("yoke")
    story.do(Act("RM", "pause", {"state_note": "Left jaw in."}))
    assert story.do(Act("SV", "resume", {"state_read": False})).codes == {"state_not_read"}
    assert story.bench.paused_by is not None


@pytest.mark.rule(117)
def test_a_long_pause_is_told_in_real_hours_with_the_state_note() -> None:
    story = Story().until("yoke")
    story.do(Act("RM", "pause", {"state_note": "Left jaw in, pin driven."}))
    resumed = story.do(Act("SV", "resume", {"state_read": True}), minutes=62.5 * 60)
    assert resumed.credit
    assert resumed.what(117) == "The pause was 62.5 h long. State then: Left jaw in, pin driven."


@pytest.mark.rule(118)
def test_a_missing_photo_is_flagged_and_a_named_one_is_not() -> None:
    story = Story()
    assert story.do(step("identify")).codes == {"photo_missing"}
    again = Act("RM", "rework", {"step": "identify", "reason": "Photo.", "evidence": ["cd" * 32]})
    assert story.do(again).codes == set()


def test_a_hand_over_ends_a_pause_and_a_job_needs_both_for_its_state() -> None:
    story = Story().until("yoke")
    pause = story.do(Act("RM", "pause", {"state_note": "Left jaw in."}))
    assert story.do(Act("SV", "hand_over", {"state_note": "As said.", "accepts": pause.id})).credit
    assert story.do(step("yoke", "SV")).credit
    assert person_id("SV") in story.bench.doers["rebuild"]


def test_verifying_again_after_the_pull_test_undoes_the_pull_test() -> None:
    story = Story().through("pull-test")
    story.do(cycle(5, SEEN_11))
    assert story.has_credit("verify")
    assert not story.has_credit("pull-test")


def test_adjusting_takes_the_verification_away_whoever_logs_it() -> None:
    story = Story().through("pull-test")
    story.do(ADJUST_SCREW)
    assert not story.has_credit("verify")
    story.do(step("cam-bolt-torque", fasteners=CAM_BOLT))
    assert not story.has_credit("adjust")
