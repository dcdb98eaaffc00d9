"""Rules 701 to 706: clocks, late phones, chains of entries, phones that hold a job."""

from dataclasses import replace
from datetime import timedelta

import pytest

from jobs.domain.bench import Bench
from jobs.domain.gate import DeviceClaim, unmet_outside_the_record
from tests.acts import ADJUST_SCREW, PASTE, SEEN_11, cycle, step
from tests.domain.rules.story import Story
from tests.strategies import shipped, world_facts


@pytest.mark.rule(701)
def test_an_act_dated_before_what_the_phone_signed_earlier_is_flagged_and_placed_after_it() -> None:
    story = Story().until("left-jaw-pin")
    story.now -= timedelta(minutes=40)
    dated_back = story.do(step("left-jaw-pin", consumables=PASTE))
    assert dated_back.credit
    assert "back_dated" in dated_back.codes
    assert story.fold.ordered[-1].entry is dated_back.entry


@pytest.mark.rule(702)
def test_an_entry_that_comes_in_a_day_after_its_act_is_flagged_and_filed_where_it_happened() -> None:
    story = Story().until("verify")
    verified = [story.entry(cycle(1, SEEN_11), story.now + timedelta(minutes=5), late=timedelta(hours=26))]
    adjusted = story.do(ADJUST_SCREW, minutes=30)
    assert story.has_credit("adjust")
    late = story.take(verified[0])
    assert late.codes == {"received_late", "verification_before_work"}
    assert late.what(702) == "Received 26 h after the act."
    order = [place.entry.id for place in story.fold.ordered]
    assert order.index(late.id) < order.index(adjusted.id)


def test_skew_moves_an_act_to_where_it_was_by_the_servers_clock() -> None:
    story = Story().until("verify")
    at = story.now + timedelta(minutes=40)
    slow = story.take(story.entry(cycle(1, SEEN_11), at - timedelta(minutes=2), skew=timedelta(minutes=2)))
    assert slow.codes == set()
    assert story.bench.times[slow.id] == at


@pytest.mark.rule(704)
def test_a_clock_that_was_put_right_by_an_hour_is_flagged_and_by_seconds_is_not() -> None:
    story = Story().until("adjust")
    at = story.now + timedelta(minutes=60)
    moved = story.take(story.entry(ADJUST_SCREW, at, skew=timedelta(minutes=-57)))
    assert moved.credit
    assert moved.codes == {"clock_off"}
    assert moved.what(704).startswith("The phone's clock was 57 min fast, as it said itself;")
    assert story.take(story.entry(cycle(1, SEEN_11), at, skew=timedelta(seconds=38))).codes == set()


@pytest.mark.rule(703)
def test_two_entries_of_one_number_hold_the_job() -> None:
    story = Story().until("left-jaw")
    story.do(step("left-jaw"))
    story.sequences.update({key: number - 1 for key, number in story.sequences.items()})
    copied = story.do(step("left-jaw-pin", consumables=PASTE))
    assert copied.codes == {"forked_sequence"}
    assert not copied.credit


@pytest.mark.rule(703)
def test_a_link_to_another_entry_than_the_one_before_is_a_fork() -> None:
    story = Story().until("left-jaw")
    first = story.entry(step("left-jaw"), story.now + timedelta(minutes=3))
    story.take(replace(first, digest="aa" * 32))
    broken = story.entry(
        step("left-jaw-pin", consumables=PASTE), story.now + timedelta(minutes=6), device_previous="bb" * 32
    )
    whole = story.entry(
        step("left-jaw-pin", consumables=PASTE), story.now + timedelta(minutes=6), device_previous="aa" * 32
    )
    whole = replace(whole, signed=replace(whole.signed, device_seq=broken.signed.device_seq))
    other = Story().until("left-jaw")
    other.take(replace(first, digest="aa" * 32))
    assert story.take(broken).codes == {"forked_sequence"}
    assert other.take(whole).credit


@pytest.mark.rule(705)
def test_a_phone_that_never_sent_an_entry_holds_the_gate_and_says_which() -> None:
    bench = Bench(shipped("PR-11"), world_facts())
    claim = DeviceClaim("x", "TC", open=False, missing=((34, 34), (37, 39)))
    blockers = unmet_outside_the_record(bench, claims=(claim,), casting_condemned=False)
    assert [(blocker.code, blocker.what) for blocker in blockers] == [
        ("device_gap", "TC's device never sent its entries 34, 37 to 39.")
    ]


@pytest.mark.rule(706)
def test_a_phone_that_took_the_job_offline_holds_the_gate_until_it_has_sent_everything() -> None:
    bench = Bench(shipped("PR-11"), world_facts())
    open_claim, ended = DeviceClaim("x", "TC", open=True), DeviceClaim("y", "RM", open=False)
    blockers = unmet_outside_the_record(bench, claims=(open_claim, ended), casting_condemned=False)
    assert [blocker.code for blocker in blockers] == ["device_holds_claim"]
