"""Rules 801 to 804: the revision that a job is pinned to, and how it gets to another."""

from dataclasses import replace
from datetime import timedelta

import pytest

from jobs.domain.fold import fold
from jobs.domain.gate import unmet_by_now
from jobs.domain.job_state import state_of
from jobs.domain.procedure import Procedure
from jobs.domain.procedure_document import publishable
from tests.acts import SEEN_11, Act, cycle, step
from tests.domain.rules.story import Story, with_revisions
from tests.strategies import EARLY, PROCEDURES, START, entry_id, shipped, world_facts

IN_FORCE = START + timedelta(hours=6)


def _rev_5() -> Procedure:
    return publishable((PROCEDURES / "pr-11-rev-5.yaml").read_text())[2]


REV_5 = _rev_5()
TAGGED = replace(REV_5, digest="05" * 32, steps=(*REV_5.steps, replace(REV_5.steps[0], key="tag", title="Tag it")))
REV_6 = replace(REV_5, revision=6, digest="06" * 32)


@pytest.fixture
def story() -> Story:
    """Rev 5 comes into force six hours after the job began."""
    return Story(facts=with_revisions(world_facts(), (shipped("PR-11"), EARLY), (REV_5, IN_FORCE)))


def move(digest: str, who: str = "JD") -> Act:
    return Act(who, "move", {"revision": digest, "reason": "Six cycles are better than four."})


@pytest.mark.rule(801)
def test_work_counts_under_the_jobs_own_revision_only(story: Story) -> None:
    assert "other_revision" in story.do(step("identify"), procedure=REV_5.digest).codes
    assert story.do(step("identify")).credit


@pytest.mark.rule(802)
def test_a_safety_critical_revision_holds_the_job_until_a_lead_decides(story: Story) -> None:
    story.through("adjust")
    assert unmet_by_now(story.bench, IN_FORCE - timedelta(minutes=1)) != ()
    assert "newer_revision" not in {b.code for b in unmet_by_now(story.bench, IN_FORCE - timedelta(minutes=1))}
    assert "newer_revision" in {b.code for b in unmet_by_now(story.bench, IN_FORCE)}
    story.now = IN_FORCE
    held = story.do(cycle(1, SEEN_11))
    assert held.codes == {"newer_revision"}
    assert not held.credit
    assert "newer_revision" in {blocker.code for blocker in state_of(story.bench).unmet}


@pytest.mark.rule(802)
def test_a_lead_may_keep_the_job_on_its_revision_with_a_reason(story: Story) -> None:
    story.through("adjust")
    story.now = IN_FORCE
    assert story.do(move(shipped("PR-11").digest)).credit
    assert story.do(cycle(1, SEEN_11)).credit
    assert story.bench.procedure.revision == 4


@pytest.mark.rule(803)
def test_a_move_names_a_revision_of_this_procedure_that_is_in_force(story: Story) -> None:
    story.do(step("identify"))
    assert story.do(move(shipped("PR-12").digest)).codes == {"moves_nowhere"}
    assert story.do(move(REV_5.digest)).codes == {"moves_nowhere"}  # not in force yet
    assert story.bench.procedure.revision == 4
    story.now = IN_FORCE
    assert story.do(move(REV_5.digest)).credit
    assert story.do(move(shipped("PR-11").digest)).codes == {"moves_nowhere"}  # never back
    assert story.bench.procedure.revision == 5


@pytest.mark.rule(804)
def test_a_move_shows_and_undoes_the_steps_that_the_other_revision_describes_otherwise(story: Story) -> None:
    story.through("pull-test")
    story.now = IN_FORCE
    moved = story.do(move(REV_5.digest))
    assert moved.credit
    assert moved.what(804) == "Rev 5 describes otherwise: “Verify the lock”."
    assert not story.has_credit("verify")
    assert story.has_credit("adjust")
    for number in range(1, 7):
        assert story.do(cycle(number, SEEN_11)).credit
    assert story.bench.verification is not None


@pytest.mark.rule(507)
@pytest.mark.rule(804)
def test_a_kit_that_lacks_a_line_of_the_other_revisions_list_is_issued_again(story: Story) -> None:
    longer = replace(REV_5, kit_lines=(*REV_5.kit_lines, "yoke-shim"))
    facts = with_revisions(world_facts(), (shipped("PR-11"), EARLY), (longer, IN_FORCE))
    kit = facts.kits["K-T2-0412"]
    for lines, stands in ((kit.lines, False), (kit.lines | {"yoke-shim"}, True)):
        told = Story(facts=replace(facts, kits={**facts.kits, kit.serial: replace(kit, lines=lines)}))
        told.through("pull-test")
        told.now = IN_FORCE
        moved = told.do(move(longer.digest))
        assert told.has_credit("issue-kit") is stands
        assert (f"“{shipped('PR-11').by_key['issue-kit'].title}”" in moved.what(804)) is not stands


def test_a_job_that_was_moved_is_folded_anew_from_the_revision_that_it_was_opened_with(story: Story) -> None:
    story.through("adjust")
    story.now = IN_FORCE
    story.do(move(REV_5.digest))
    story.do(cycle(1, SEEN_11))
    late = story.take(story.entry(Act("LP", "hold", {"reason": "Wait."}), START + timedelta(minutes=1)))
    assert late.credit
    entries = [one.entry for one in story.logged]
    whole = fold(shipped("PR-11"), entries, story.facts)
    assert state_of(whole.bench) == state_of(story.bench)
    assert whole.bench.procedure.digest == REV_5.digest
    copied = story.fold.copy()
    copied.add(story.entry(Act("LP", "pause", {"state_note": "x"}), START))
    assert copied.bench.procedure.digest == REV_5.digest


@pytest.mark.rule(803)
def test_a_follow_up_stays_with_the_revision_that_it_was_opened_with(story: Story) -> None:
    whole = shipped("PR-11")
    assert whole.follow_up is not None
    short = replace(whole, steps=whole.follow_up.steps, follow_up=None)
    follow_up = Story(facts=story.facts, procedure=short, now=IN_FORCE)
    assert follow_up.do(move(REV_5.digest)).codes == {"moves_nowhere"}
    assert set(follow_up.bench.procedure.by_key) == {"retorque"}


def test_a_technician_moves_no_job(story: Story) -> None:
    story.now = IN_FORCE
    assert story.do(move(REV_5.digest, "WELDER")).codes >= {"not_qualified"}


@pytest.mark.rule(801)
def test_an_entry_names_a_step_of_the_revision_that_it_was_made_under_moved_or_not() -> None:
    story = Story(facts=with_revisions(world_facts(), (shipped("PR-11"), EARLY), (TAGGED, START)))

    def is_an_entry(key: str, under: str) -> bool:
        return story.fold.has_step(story.entry(step(key), START, procedure=under).signed)

    first, unpublished = story.fold.opened_with.digest, "77" * 32
    assert is_an_entry("tag", TAGGED.digest)  # the phone heard of the move before the record did
    assert not is_an_entry("tag", first)
    assert not is_an_entry("tag", unpublished)
    assert "other_revision" in story.do(step("tag"), procedure=TAGGED.digest).codes
    assert story.do(move(TAGGED.digest)).credit
    assert is_an_entry("tag", unpublished)
    assert not is_an_entry("tug", TAGGED.digest)


@pytest.mark.rule(801)
def test_an_amendment_names_the_step_of_what_it_amends_though_the_job_has_moved_on() -> None:
    story = Story(facts=with_revisions(world_facts(), (shipped("PR-11"), EARLY), (TAGGED, START), (REV_6, START)))
    assert story.do(move(TAGGED.digest)).credit
    tagged = story.do(step("tag")).entry.id
    assert story.do(move(REV_6.digest)).credit
    said = {"reason": "Mistyped.", "content": {"kind": "step", "step": "tag"}}
    amended = story.entry(Act("LP", "amendment", {"amends": tagged, **said}), story.now)
    assert story.fold.has_step(amended.signed)
    other = story.entry(Act("LP", "amendment", {"amends": entry_id(9), **said}), story.now)
    assert not story.fold.has_step(other.signed)
