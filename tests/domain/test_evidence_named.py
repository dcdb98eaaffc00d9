"""The gate waits for photos that were named, where the step asks for them; it says how many and on whose phone."""

from datetime import timedelta

from jobs.domain.evidence_named import Arrival, named_files, photo_blockers
from tests.acts import Act, step
from tests.domain.rules.story import Story
from tests.strategies import START

HEAP, TAG, NEW = "ab" * 32, "cd" * 32, "ef" * 32
SOON = START + timedelta(hours=1)
IDENTIFY = step("identify", evidence=[TAG, HEAP])


def blockers(story: Story, *arrived: str) -> list[str]:
    return [found.what for found in photo_blockers(story.bench, {digest: Arrival(SOON) for digest in arrived})]


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
