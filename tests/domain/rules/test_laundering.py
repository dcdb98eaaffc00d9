"""What a cheat tries: words for work, two readings in one breath, a milder hold over a graver one, work after work."""

from typing import Any

import pytest

from jobs.domain.procedure_document import publishable
from tests.acts import CASTING, LOCK_TRAVEL, ON_KINGPIN, WARMTH, Act, jaw_gap, reading, typed
from tests.domain.rules.story import Logged, Story
from tests.domain.rules.test_corrections import AT, grind
from tests.strategies import FILES, PROCEDURES


def amend(story: Story, entry: Logged, kind: str, who: str = "RM", **content: Any) -> Logged:
    said = {"amends": entry.id, "reason": "Mistyped.", "content": {"kind": kind, **content}}
    return story.do(Act(who, "amendment", said))


def gap(*texts: str) -> dict[str, Any]:
    return typed("jaw-gap", *texts, instrument="FG-11", state=ON_KINGPIN, **WARMTH)


def released() -> Story:
    story = Story().through("pull-test")
    assert story.do(Act("JD", "release", {"chain_head": "ab" * 32, "statement": "Released."})).credit
    return story


@pytest.mark.rule(307)
@pytest.mark.parametrize("reason", [{}, {"reason": "Burr taken off."}])
def test_a_failed_reading_is_not_outdone_by_a_second_one_in_the_same_entry(reason: dict[str, str]) -> None:
    story = Story().until("measure-lock")
    story.do(LOCK_TRAVEL)
    both = [gap(".156", ".157", ".156"), gap(".219", ".219", ".219")]
    found = story.do(reading("measure-lock", both, **reason))
    assert found.codes == {"out_of_limits", "read_again_without_reason"}
    assert not story.has_credit("measure-lock")
    assert AT in story.bench.asked
    assert "read_again_without_reason" in story.do(jaw_gap(".219", ".219", ".219")).codes


@pytest.mark.rule(113)
def test_an_amendment_makes_no_other_correction_of_the_one_that_was_made() -> None:
    story = Story().until("measure-lock")
    story.do(jaw_gap(".156", ".157", ".156"))
    ground = story.do(grind())
    body = {**grind().body, "correction": "weld-stop-pad", "permit": "HW-17", "crack_check": True, "cooled": True}
    assert amend(story, ground, "correction", **body).codes == {"amends_nothing"}
    assert amend(story, ground, "correction", **{**body, "characteristic": "play"}).codes == {"amends_nothing"}
    assert ground.credit
    assert len(story.bench.corrected[AT]) == 1


@pytest.mark.rule(113)
def test_an_amendment_does_not_tighten_what_was_loosened() -> None:
    story = Story().through("refit")
    loosened = story.do(
        Act("RM", "rework", {"step": "refit", "reason": "Washers.", "fasteners": [{"key": "base-bolts", "count": 0}]})
    )
    assert not story.has_credit("refit")
    tight: dict[str, Any] = {
        "step": "refit",
        "reason": "They were tight.",
        "fasteners": [{"key": "base-bolts", "count": 12}],
    }
    assert amend(story, loosened, "rework", **tight).codes == {"amends_nothing"}
    assert not story.has_credit("refit")


@pytest.mark.rule(408)
def test_a_face_past_flush_is_not_amended_away() -> None:
    story = Story().until("measure-lock")
    story.do(jaw_gap(".156", ".157", ".156"))
    flush = story.do(grind(past_flush=True))
    amend(story, flush, "correction", **grind().body)
    assert flush.id in story.bench.holds
    assert story.bench.holds[flush.id].needs == 2


@pytest.mark.rule(313)
def test_a_conditional_reading_amended_into_a_good_one_is_flagged() -> None:
    story = Story().until("measure-lock")
    near = story.do(jaw_gap(".186", ".187", ".187"))
    assert near.codes == {"conditional"}
    good = amend(story, near, "reading", step="measure-lock", readings=[gap(".219", ".219", ".219")])
    assert good.codes == {"amended_from_fail"}


@pytest.mark.rule(110)
@pytest.mark.parametrize("answered", [1, 2])
def test_every_piece_of_work_after_a_release_undermines_it_also_where_nothing_is_left_to_undo(answered: int) -> None:
    story = released()
    for _ in range(answered):
        story.do(Act("RM", "rework", {"step": "adjust", "reason": "Felt loose."}))
    last = story.do(Act("RM", "rework", {"step": "adjust", "reason": "Felt loose again."}))
    assert story.bench.undermined_by == last.id
    assert len(story.bench.undermining) == answered + 1


@pytest.mark.rule(110)
def test_a_failed_reading_or_cycle_after_a_release_undermines_it_each_time() -> None:
    story = released()
    for _ in range(2):
        failed = story.do(jaw_gap(".156", ".157", ".156"))
        assert story.bench.undermined_by == failed.id
    before = len(story.bench.undermining)
    story.do(jaw_gap(".219", ".219", ".219"))
    assert len(story.bench.undermining) == before


@pytest.mark.rule(110)
def test_who_says_after_the_release_that_he_mistyped_undermines_it() -> None:
    story = released()
    gaps = next(one for one in story.logged if one.entry.signed.step == "measure-lock")
    said = amend(story, gaps, "reading", step="measure-lock", readings=[gap(".156", ".157", ".156")])
    assert not said.credit
    assert story.bench.undermined_by == said.id


@pytest.mark.rule(312)
@pytest.mark.parametrize("graver_first", [True, False])
def test_a_milder_hold_of_the_same_entry_does_not_take_the_place_of_a_graver_one(graver_first: bool) -> None:
    text = (PROCEDURES / FILES["PR-11"]).read_text()
    flatness = text.index("key: flatness")
    guarded = text[:flatness] + text[flatness:].replace("{kind: simple}", '{kind: guarded, guard: "1"}', 1)
    story = Story(procedure=publishable(guarded)[2]).until("inspect-casting")
    rows = [["0"] * 5, ["0", "0", ".0599", "0", "0"], ["0"] * 5]
    near = {**CASTING[0], "grid": {**CASTING[0]["grid"], "z": rows}}
    worn = {**CASTING[1], "bore": {**CASTING[1]["bore"], "diameters": [["1.503", "1.548", "1.566", "1.531"]] * 2}}
    found = story.do(reading("inspect-casting", [worn, near] if graver_first else [near, worn]))
    assert found.codes == {"conditional", "out_of_limits", "beyond_cure"}
    story.do(reading("inspect-casting", CASTING, reason="Gauge was held askew."))
    assert story.has_credit("inspect-casting")
    assert set(story.bench.holds) == {found.id}
    assert story.do(Act("JD", "clear", {"hold": found.id, "reason": "Measured myself: 0.008."})).credit
    assert not story.bench.holds


@pytest.mark.rule(703)
def test_a_forked_phone_holds_the_gate_until_somebody_else_has_looked_though_the_work_is_logged_again() -> None:
    story = Story().through("pull-test")
    last = story.logged[-1].entry.signed.device_seq
    again = Act("RM", "rework", {"step": "pull-test", "reason": "Once more."})
    forked = story.do(again, device_seq=last)
    assert "forked_sequence" in forked.codes
    assert story.do(again).credit
    assert set(story.bench.holds) == {forked.id}
    assert not story.do(Act("JD", "release", {"chain_head": "ab" * 32, "statement": "Released."})).credit
    assert story.do(Act("JD", "clear", {"hold": forked.id, "reason": "The phone was restored from a copy."})).credit
    assert story.do(Act("JD", "release", {"chain_head": "ab" * 32, "statement": "Released."})).credit
