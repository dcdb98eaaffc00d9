"""Rules 701 to 707: clocks, late phones, chains of entries, phones that hold a job."""

from dataclasses import replace
from datetime import timedelta
from uuid import UUID

import pytest

from jobs.domain.bench import Bench
from jobs.domain.facts import ForkFact
from jobs.domain.fold import fold
from jobs.domain.gate import DeviceClaim, unmet_by_the_record, unmet_outside_the_record
from tests.acts import ADJUST_SCREW, PASTE, SEEN_11, Act, cycle, jaw_gap, step
from tests.domain.rules.story import Story
from tests.strategies import START, entry_id, shipped, world_facts


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


CLEARED = "The phone was restored from a copy."


def forked(story: Story, entry: UUID, *, after: timedelta = timedelta(0)) -> None:
    """From now on the facts tell that the phone of `entry` signed its number on another job too."""
    twin = ForkFact(entry_id(9_999), entry_id(8_888), START + after)
    story.fold = fold(
        shipped("PR-11"),
        [place.entry for place in story.fold.ordered],
        replace(story.facts, forks={entry: (twin,)}),
    )


@pytest.mark.rule(707)
def test_a_number_that_stands_on_another_job_too_holds_the_job_and_keeps_its_credit() -> None:
    story = Story().through("pull-test")
    entry = story.logged[-1]
    forked(story, entry.id)
    assert entry.credit
    assert entry.codes == {"forked_across_jobs"}
    assert f"entry {entry_id(9_999)} of job {entry_id(8_888)}" in entry.what(707)
    assert [blocker.entry for blocker in unmet_by_the_record(story.bench) if blocker.code == "hold_open"] == [entry.id]
    assert not story.do(Act("RM", "clear", {"hold": entry.id, "reason": CLEARED})).credit, "it is his own phone"
    assert story.do(Act("JD", "clear", {"hold": entry.id, "reason": CLEARED})).credit
    assert story.do(Act("JD", "release", {"chain_head": "ab" * 32, "statement": "Released."})).credit


@pytest.mark.rule(707)
def test_a_release_that_was_signed_before_the_fork_came_in_keeps_its_credit_and_one_after_does_not() -> None:
    story = Story().through("pull-test")
    entry = story.logged[-1]
    release = story.do(Act("JD", "release", {"chain_head": "ab" * 32, "statement": "Released."}))
    forked(story, entry.id, after=timedelta(days=3))
    assert release.credit
    forked(story, entry.id)
    assert not release.credit


@pytest.mark.rule(703)
@pytest.mark.rule(707)
@pytest.mark.parametrize("on_another_job", [False, True])
def test_a_better_reading_does_not_end_the_hold_of_a_forked_phone(on_another_job: bool) -> None:
    """The reading was conditional as well; what it was held for as a reading ends with the better one."""
    story = Story().until("measure-lock")
    last = story.logged[-1].entry.signed.device_seq
    near = jaw_gap(".184", ".184", ".184")
    held = story.do(near) if on_another_job else story.do(near, device_seq=last)
    if on_another_job:
        forked(story, held.id)
    assert held.codes >= {"conditional"}
    again = replace(near, body={**jaw_gap(".192", ".192", ".192").body, "reason": "Read askew."})
    story.do(again)
    assert set(story.bench.holds) == {held.id}
    assert story.do(Act("JD", "clear", {"hold": held.id, "reason": CLEARED})).credit
    assert not story.bench.holds
