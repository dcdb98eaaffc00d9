"""Rules 502 to 521: a kit is on record, the right one, whole, this job's, and not recalled; paste is fresh and in place."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import pytest

from jobs.domain.facts import Facts, KitMove, RecallFact
from jobs.domain.gate import unmet_by_the_record
from tests.acts import PASTE, SCRIPTS, Act, step
from tests.domain.rules.story import Logged, Story
from tests.strategies import JOB, START, world_facts

SERIAL, OTHER = "K-T2-0412", "K-T2-0413"
ANOTHER_JOB = UUID("019cadd4-0a80-7f00-8a41-07a1b2c3d4ff")
SOFT_SPRINGS = "Soft yoke springs."
BEFORE, AFTER = START - timedelta(days=1), START + timedelta(days=30)


def with_kit(serial: str = SERIAL, **changes: Any) -> Facts:
    """The facts of the world with one kit that is otherwise than K-T2-0412 is."""
    facts = world_facts()
    kit = replace(facts.kits[SERIAL], serial=serial, **changes)
    return replace(facts, kits={**facts.kits, serial: kit})


def issue(serial: str = SERIAL, who: str = "RM", **kit: Any) -> Act:
    return step("issue-kit", who, kit={"serial": serial, **kit})


def issued(facts: Facts, serial: str = SERIAL, **kit: Any) -> Logged:
    """The kit issued at its place in an otherwise good rebuild."""
    return Story(facts=facts).until("issue-kit").do(issue(serial, **kit))


@pytest.mark.rule(502)
def test_a_kit_is_scanned_and_on_record() -> None:
    assert issued(world_facts(), "K-T2-9999").codes == {"kit_not_on_record"}
    assert Story().until("issue-kit").do(step("issue-kit")).codes == {"kit_not_on_record"}


@pytest.mark.rule(503)
def test_a_dolly_kit_does_not_go_into_a_tractor() -> None:
    assert "kit_for_another_model" in issued(world_facts(), "K-D2-0077").codes


@pytest.mark.rule(504)
def test_a_kit_that_was_recalled_before_it_was_opened_earns_nothing() -> None:
    late = issued(with_kit(recalls=(RecallFact(ANOTHER_JOB, BEFORE, SOFT_SPRINGS),)))
    assert late.codes == {"kit_recalled"}
    assert SOFT_SPRINGS in late.what(504)


@pytest.mark.rule(505)
def test_a_kit_goes_into_one_job() -> None:
    taken = with_kit(moves=(KitMove("issued", BEFORE, ANOTHER_JOB),))
    assert issued(taken).codes == {"kit_on_two_jobs"}


@pytest.mark.rule(505)
@pytest.mark.parametrize(
    "moves",
    [
        (KitMove("issued", BEFORE, JOB),),
        (KitMove("issued", BEFORE),),
        (KitMove("issued", BEFORE, ANOTHER_JOB), KitMove("returned", BEFORE)),
        (KitMove("issued", AFTER, ANOTHER_JOB),),
    ],
    ids=["its own", "to nobody", "taken back", "later"],
)
def test_a_kit_that_was_nobody_elses_at_the_time_is_free(moves: tuple[KitMove, ...]) -> None:
    assert issued(with_kit(moves=moves)).credit


@pytest.mark.rule(506)
def test_no_line_of_a_kit_is_fitted_twice() -> None:
    story = Story().until("left-jaw")
    assert story.do(step("left-jaw", kit={"serial": SERIAL, "lines": ["left-jaw", "jaw-bushes"]})).credit
    for act in SCRIPTS["PR-11"]:
        if act.step in {"left-jaw-pin", "yoke"}:
            assert story.do(act).credit
    both = {"serial": SERIAL, "lines": ["right-jaw", "jaw-bushes"]}
    again = story.do(step("right-jaw", kit=both))
    assert again.codes == {"kit_line_used_twice"}
    assert again.what(506) == "jaw-bushes of kit K-T2-0412 was fitted at “Left jaw”."
    twice = {"serial": SERIAL, "lines": ["right-jaw", "right-jaw"]}
    assert story.do(step("right-jaw", kit=twice)).codes == {"kit_line_used_twice"}
    right = {"serial": SERIAL, "lines": ["right-jaw"]}
    assert story.do(step("right-jaw", kit=right)).credit


@pytest.mark.rule(506)
def test_the_same_step_done_again_fits_the_same_parts_again() -> None:
    story = Story().until("left-jaw")
    fitted = {"serial": SERIAL, "lines": ["left-jaw", "jaw-bushes"]}
    assert story.do(step("left-jaw", kit=fitted)).credit
    assert story.do(Act("RM", "rework", {"step": "left-jaw", "reason": "Bush sat askew.", "kit": fitted})).credit


@pytest.mark.rule(507)
def test_a_kit_without_one_of_its_lines_is_not_issued() -> None:
    lines = world_facts().kits[SERIAL].lines
    short = issued(with_kit(lines=lines - {"yoke-spring"}))
    assert (short.codes, short.what(507)) == ({"kit_incomplete"}, "Kit K-T2-0412 lacks yoke-spring.")
    assert issued(world_facts(), lines=sorted(lines - {"cam-washer"})).codes == {"kit_incomplete"}
    assert issued(world_facts(), lines=sorted(lines)).credit


@pytest.mark.rule(508)
def test_nothing_is_left_over() -> None:
    story = Story().until("cam-and-handle")
    left = story.do(step("cam-and-handle", kit={"serial": SERIAL, "left_over": ["handle-cotter"]}))
    assert left.codes == {"kit_left_over"}
    assert not story.has_credit("cam-and-handle")


def recalled_later() -> Story:
    """A good rebuild up to the yoke, with a kit that is recalled a month later; another one stands by."""
    facts = with_kit(recalls=(RecallFact(ANOTHER_JOB, AFTER, SOFT_SPRINGS),))
    spare = replace(facts.kits[SERIAL], serial=OTHER, recalls=())
    return Story(facts=replace(facts, kits={**facts.kits, OTHER: spare}))


@pytest.mark.rule(509)
def test_a_kit_that_is_recalled_later_holds_the_job_and_takes_no_credit() -> None:
    story = recalled_later().until("issue-kit")
    opened = story.do(issue())
    assert (opened.credit, opened.codes) == (True, {"kit_recalled_since"})
    assert story.do(step("left-jaw")).credit
    assert [hold.entry for hold in story.bench.holds.values()] == [opened.id]
    assert "hold_open" in {blocker.code for blocker in unmet_by_the_record(story.bench)}


@pytest.mark.rule(509)
def test_another_kit_ends_the_hold_of_a_recalled_one() -> None:
    story = recalled_later().until("issue-kit")
    story.do(issue())
    other = Act("RM", "rework", {"step": "issue-kit", "reason": "Recalled.", "kit": {"serial": OTHER}})
    assert story.do(other).credit
    assert not story.bench.holds
    assert [kit.serial for kit in story.bench.kits] == [SERIAL, OTHER]


@pytest.mark.rule(509)
@pytest.mark.rule(313)
def test_words_do_not_take_a_recalled_kit_out() -> None:
    story = recalled_later().until("issue-kit")
    opened = story.do(issue())
    content = {"kind": "step", "step": "issue-kit", "kit": {"serial": OTHER}}
    said = story.do(
        Act("RM", "amendment", {"amends": opened.id, "reason": "Scanned the wrong box.", "content": content})
    )
    assert (said.credit, said.codes) == (True, {"amended_from_fail"})
    assert SERIAL in said.what(313)
    assert [kit.serial for kit in story.bench.kits] == [OTHER]
    assert set(story.bench.holds) == {opened.id}


@pytest.mark.rule(509)
def test_lead_and_quality_may_let_a_recalled_kit_stay() -> None:
    story = recalled_later().until("issue-kit")
    opened = story.do(issue())
    reason = {"hold": opened.id, "reason": "Springs measured, all hard."}
    assert story.do(Act("JD", "clear", reason)).credit
    assert story.bench.holds
    assert story.do(Act("OK", "clear", reason)).credit
    assert not story.bench.holds


@pytest.mark.rule(509)
def test_a_release_that_was_signed_before_the_recall_does_not_fall_by_it() -> None:
    story = recalled_later()
    for act in SCRIPTS["PR-11"]:
        story.do(act)
    signed = story.do(Act("JD", "release", {"chain_head": "00" * 32, "statement": "Released."}))
    assert signed.credit
    assert story.bench.released_by == signed.id
    assert story.bench.undermined_by is None


@pytest.mark.rule(509)
def test_no_release_is_signed_after_the_recall() -> None:
    story = recalled_later()
    for act in SCRIPTS["PR-11"]:
        story.do(act)
    story.now = AFTER
    signed = story.do(Act("JD", "release", {"chain_head": "00" * 32, "statement": "Released."}))
    assert signed.codes == {"gate_closed"}


@pytest.mark.rule(510)
@pytest.mark.parametrize("kind", ["quarantined", "scrapped"])
def test_what_parts_have_put_aside_stays_there(kind: str) -> None:
    assert issued(with_kit(moves=(KitMove(kind, BEFORE),))).codes == {"kit_withdrawn"}
    assert issued(with_kit(moves=(KitMove(kind, AFTER),))).credit


@pytest.mark.rule(511)
def test_parts_come_from_the_kit_of_the_job() -> None:
    story = Story(facts=with_kit(OTHER)).until("yoke")
    borrowed = story.do(step("yoke", kit={"serial": OTHER, "lines": ["yoke"]}))
    assert borrowed.codes == {"other_kit"}
    assert borrowed.what(511).endswith("kit K-T2-0412 is issued to the job.")


def pasted(**use: Any) -> Logged:
    used = [{"key": "pin-paste", "lot": "AS7-118", **use}]
    return Story().until("left-jaw-pin").do(step("left-jaw-pin", consumables=PASTE, consumable_use=used))


@pytest.mark.rule(520)
@pytest.mark.parametrize(("use_by", "is_good"), [("2026-03-01", False), ("2026-03-02", True), ("2027-01-01", True)])
def test_paste_is_used_by_its_last_day(use_by: str, is_good: bool) -> None:
    found = pasted(use_by=use_by)
    assert found.credit is is_good
    assert found.codes == (set() if is_good else {"consumable_out_of_date"})


@pytest.mark.rule(521)
def test_paste_stays_off_the_threads() -> None:
    assert pasted(on_threads=True).codes == {"consumable_on_threads"}
    assert pasted(on_threads=False).credit


def test_act_times_decide_and_not_the_order_in_which_movements_came() -> None:
    moves = (KitMove("stocked", BEFORE), KitMove("scrapped", AFTER))
    kit = with_kit(moves=moves).kits[SERIAL]
    assert kit.last_move(BEFORE - timedelta(seconds=1)) is None
    assert kit.last_move(START) == moves[0]
    assert kit.last_move(datetime.max.replace(tzinfo=START.tzinfo)) == moves[1]


@pytest.mark.rule(512)
@pytest.mark.parametrize("kind", ["returned", "stocked", "quarantined", "scrapped"])
def test_a_kit_that_parts_took_back_holds_the_job_until_another_one_is_in(kind: str) -> None:
    facts = with_kit(OTHER, lot="LT-26-015")
    kits = {**facts.kits, SERIAL: replace(facts.kits[SERIAL], moves=(KitMove(kind, AFTER),))}
    story = Story(facts=replace(facts, kits=kits)).until("issue-kit")
    first = story.do(issue())
    assert (first.credit, first.codes) == (True, {"kit_taken_back"})
    assert story.bench.holds[first.id].needs == 2
    story.do(Act("RM", "rework", {"step": "issue-kit", "reason": "Another box.", "kit": {"serial": OTHER}}))
    assert not story.bench.holds


@pytest.mark.rule(512)
@pytest.mark.parametrize("job", [JOB, None])
def test_a_kit_that_came_back_to_the_job_holds_nothing(job: UUID | None) -> None:
    moves = (KitMove("returned", AFTER), KitMove("issued", AFTER + timedelta(hours=1), job))
    assert issued(with_kit(moves=moves)).codes == set()
