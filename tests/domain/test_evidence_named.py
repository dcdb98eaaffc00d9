"""The gate waits until a step names the photos that it asks for, and until they arrive; it says on whose phone they are."""

from dataclasses import replace
from datetime import timedelta

import pytest

from jobs.domain.evidence_named import Arrival, named_files
from jobs.domain.gate import unmet_by_the_record
from jobs.domain.job_state import step_states
from jobs.domain.photos_awaited import photo_blockers
from tests.acts import CASTING, NAMES_PHOTO, PR_11, Act, reading, step
from tests.domain.rules.story import Story
from tests.strategies import START, shipped

HEAP, TAG, NEW = "ab" * 32, "cd" * 32, "ef" * 32
SOON = START + timedelta(hours=1)
IDENTIFY = step("identify", evidence=[TAG, HEAP])


def blockers(story: Story, *arrived: str) -> list[str]:
    return [found.what for found in photo_blockers(story.bench, {digest: Arrival(SOON) for digest in arrived})]


def asking_for(photos: int, key: str = "identify") -> Story:
    """A job by a procedure whose step `key` asks for so many photos and may be not applicable."""
    procedure = shipped("PR-11")
    steps = [
        replace(one, photos=photos, may_be_not_applicable=True) if one.key == key else one for one in procedure.steps
    ]
    return Story(procedure=replace(procedure, steps=tuple(steps)))


def unnamed(story: Story) -> list[str]:
    """What the gate says of photos that nobody named."""
    return [found.what for found in unmet_by_the_record(story.bench) if found.code == "photo_missing"]


def amendment(of: Act, amends: int | str, **body: object) -> Act:
    said = {name: value for name, value in of.body.items() if name != "evidence"}
    return Act("RM", "amendment", {"amends": amends, "reason": "Words.", "content": {"kind": of.kind, **said}, **body})


NONE = f"“{shipped('PR-11').by_key['identify'].title}” asks for 1 photo; none is named."


@pytest.mark.rule(118)
@pytest.mark.parametrize("left_out", [act for act in PR_11 if "evidence" in act.body], ids=lambda act: act.step)
def test_a_rebuild_that_names_no_photo_where_one_is_asked_for_does_not_open_the_gate(left_out: Act) -> None:
    story = Story()
    for act in PR_11:
        assert story.do(step(act.step, **without_photo(act)) if act is left_out else act).credit
    (blocker,) = unmet_by_the_record(story.bench)
    assert (blocker.code, blocker.step) == ("photo_missing", left_out.step)
    assert blocker.what.endswith("asks for 1 photo; none is named.")
    head = {"chain_head": "00" * 32, "statement": "Released."}
    assert story.do(Act("JD", "release", head)).codes == {"gate_closed"}


def without_photo(act: Act) -> dict[str, object]:
    return {name: value for name, value in act.body.items() if name not in {"step", "evidence"}}


def test_too_few_photos_are_told_and_the_same_one_twice_is_one() -> None:
    story = asking_for(3)
    title = story.bench.title("identify")
    flag = story.do(step("identify", evidence=[HEAP, HEAP])).what(118)
    assert unnamed(story) == [flag] == [f"“{title}” asks for 3 photos; 1 is named."]
    story.do(amendment(IDENTIFY, str(story.logged[-1].id), evidence=[HEAP, TAG]))
    assert unnamed(story) == [f"“{title}” asks for 3 photos; 2 are named."]
    story.do(amendment(IDENTIFY, str(story.logged[-1].id), evidence=[HEAP, TAG, NEW]))
    assert unnamed(story) == []


def test_a_step_without_credit_asks_for_itself_and_one_that_asks_for_no_photos_for_none() -> None:
    story = Story().until("strip")
    assert "lift-off" in story.bench.credited
    assert unnamed(story) == []
    story.do(step("strip"))
    assert "strip" not in story.bench.credited, "its pieces are not counted"
    assert unnamed(story) == []


def test_a_photo_named_in_an_amendment_cures_it_whatever_was_done_since() -> None:
    story = Story()
    first = story.do(step("identify"))
    for act in PR_11[1:]:
        story.do(act)
    (blocker,) = unmet_by_the_record(story.bench)
    assert (blocker.what, blocker.entry) == (NONE, first.id)
    assert next(state for state in step_states(story.bench) if state.key == "identify").missing == (NONE,)
    assert story.do(amendment(IDENTIFY, str(first.id), evidence=[NEW])).codes == set()
    assert unmet_by_the_record(story.bench) == ()
    assert [one.digest for one in named_files(story.bench) if one.step == "identify"] == [NEW]
    assert len(blockers(story, *NAMES_PHOTO["evidence"])) == 1
    assert blockers(story, NEW, *NAMES_PHOTO["evidence"]) == []


def test_an_amendment_without_photos_keeps_those_of_the_entry_that_it_amends() -> None:
    story = Story()
    first = story.do(IDENTIFY)
    assert story.do(amendment(IDENTIFY, str(first.id))).codes == set()
    assert unnamed(story) == []
    bare = Story()
    first = bare.do(step("identify"))
    second = bare.do(amendment(IDENTIFY, str(first.id)))
    assert second.codes == {"photo_missing"}
    (blocker,) = [found for found in unmet_by_the_record(bare.bench) if found.code == "photo_missing"]
    assert (blocker.what, blocker.entry) == (NONE, second.id)


def test_a_step_that_was_not_applicable_asks_for_no_photos() -> None:
    story = asking_for(1)
    assert story.do(step("identify", not_applicable=True, reason="No tag on this unit.")).credit
    assert unnamed(story) == []
    done = asking_for(1)
    done.do(step("identify"))
    assert unnamed(done) == [NONE]
    words = {"kind": "step", "step": "identify", "not_applicable": True, "reason": "There is no tag."}
    amends = {"amends": str(done.logged[-1].id), "reason": "Mistyped.", "content": words}
    assert done.do(Act("RM", "amendment", amends)).credit
    assert unnamed(done) == []


def test_what_was_photographed_before_a_step_was_done_again_is_no_photo_of_it() -> None:
    story = Story()
    story.do(IDENTIFY)
    story.do(Act("RM", "rework", {"step": "identify", "reason": "Another tag."}))
    assert unnamed(story) == [NONE]


def test_of_a_step_that_is_only_measured_any_reading_may_name_the_photos() -> None:
    story = asking_for(2, "inspect-casting").until("inspect-casting")
    for spec, digest in zip(CASTING, (HEAP, TAG), strict=True):
        assert unnamed(story) == []
        assert story.do(reading("inspect-casting", [spec], evidence=[digest])).credit
    assert "inspect-casting" in story.bench.credited
    assert unnamed(story) == []


def test_a_named_photo_is_waited_for_until_it_arrives() -> None:
    story = Story()
    story.do(IDENTIFY)
    title = story.bench.title("identify")
    assert blockers(story) == [f"Of the photos that “{title}” names, 2 of 2 have not arrived: named by RM."]
    assert blockers(story, HEAP) == [f"Of the photos that “{title}” names, 1 of 2 has not arrived: named by RM."]
    assert blockers(story, HEAP, TAG) == []


def test_a_blocker_names_step_and_entry() -> None:
    story = Story()
    entry = story.do(IDENTIFY).id
    (found,) = photo_blockers(story.bench, {})
    assert (found.code, found.step, found.entry) == ("photo_not_arrived", "identify", entry)


def test_photos_of_a_step_that_asks_for_none_are_not_waited_for() -> None:
    story = Story()
    story.do(IDENTIFY)
    story.do(step("lift-off", evidence=[NEW]))
    assert NEW not in {one.digest for one in named_files(story.bench)}


def test_a_step_without_credit_asks_for_itself_not_for_its_photos() -> None:
    story = Story()
    story.do(step("strip", evidence=[HEAP]))
    assert named_files(story.bench) == ()


def test_an_amendment_without_photos_leaves_those_named_before_and_one_with_photos_names_them_anew() -> None:
    content = {"kind": "step", "step": "identify"}
    story = Story()
    first = story.do(IDENTIFY)
    story.do(Act("RM", "amendment", {"amends": str(first.id), "reason": "Mistyped.", "content": content}))
    assert {one.digest for one in named_files(story.bench)} == {HEAP, TAG}
    lost = Story()
    first = lost.do(IDENTIFY)
    amended = {"amends": str(first.id), "reason": "The phone is lost.", "content": content, "evidence": [NEW]}
    lost.do(Act("RM", "amendment", amended))
    assert [one.digest for one in named_files(lost.bench)] == [NEW]


def test_a_step_done_again_names_its_own_photos() -> None:
    story = Story()
    story.do(IDENTIFY)
    story.do(Act("RM", "rework", {"step": "identify", "reason": "Another tag.", "evidence": [NEW]}))
    assert NEW in {one.digest for one in named_files(story.bench)}


def test_a_photo_that_was_lawfully_deleted_had_arrived_but_serves_no_later_entry() -> None:
    story = Story()
    received = story.do(IDENTIFY).entry.received_at
    after = Arrival(SOON, deleted_at=received + timedelta(days=500))
    before = Arrival(SOON, deleted_at=received - timedelta(days=1))
    assert photo_blockers(story.bench, {HEAP: after, TAG: after}) == ()
    assert len(photo_blockers(story.bench, {HEAP: after, TAG: before})) == 1
