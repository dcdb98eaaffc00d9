"""A fold that goes on under newer facts is the fold that would be derived from them, whatever became of its kit."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from hypothesis import event, given, settings
from hypothesis import strategies as st

from jobs.domain.act_order import as_datetime
from jobs.domain.facts import Facts, KitMove, RecallFact
from jobs.domain.fold import fold
from jobs.domain.job_state import state_of
from tests.strategies import JOB, entries_of, entry_id, script, shipped, world_facts

PROCEDURE, KIT, OTHER = shipped("PR-11"), "K-T2-0412", entry_id(9_999)
KINDS = ("stocked", "issued", "returned", "quarantined", "scrapped")
ISSUE = next(at for at, placed in enumerate(script("PR-11")) if placed.act.step == "issue-kit")
AGAIN = st.lists(st.integers(ISSUE + 1, len(script("PR-11")) - 1), max_size=2)


def jobs(again: list[int]) -> list[Any]:
    """The rebuild, with the kit issued again after each of the entries `again`."""
    placed = list(script("PR-11"))
    redo = replace(placed[ISSUE].act, kind="rework", body={**placed[ISSUE].act.body, "reason": "Issued again."})
    for at in sorted(again, reverse=True):
        placed.insert(at + 1, replace(placed[ISSUE], act=redo))
    return placed


def with_moves(facts: Facts, moves: list[KitMove], recalls: tuple[RecallFact, ...] = ()) -> Facts:
    moved = replace(facts.kits[KIT], moves=tuple(sorted(moves, key=lambda move: move.at)), recalls=recalls)
    return replace(facts, kits={**facts.kits, KIT: moved}, version=facts.version + 1)


@given(again=AGAIN, data=st.data())
@settings(max_examples=250)
def test_what_goes_on_is_what_would_be_derived_anew(again: list[int], data: st.DataObject) -> None:
    entries = entries_of(PROCEDURE, jobs(again))
    facts = world_facts()
    times = [as_datetime(place.at) for place in fold(PROCEDURE, entries, facts).ordered]
    near = st.builds(
        lambda at, by: at + by,
        st.sampled_from(times[ISSUE - 1 :]),
        st.sampled_from([timedelta(0), timedelta(microseconds=1), timedelta(seconds=30), -timedelta(seconds=30)]),
    )
    moves = st.builds(KitMove, st.sampled_from(KINDS), near, st.sampled_from([None, JOB, OTHER]))
    before = with_moves(facts, data.draw(st.lists(moves, max_size=2)))
    kept = fold(PROCEDURE, entries, before)
    own = [KitMove("issued", kit.at, JOB) for kit in kept.bench.kits]
    more = st.sampled_from([[], own, own[-1:]]) if own else st.just([])
    now = with_moves(before, [*before.kits[KIT].moves, *data.draw(more), *data.draw(st.lists(moves, max_size=1))])
    event(went_on := "goes on" if kept.goes_on_under(now) else "derived anew")
    if went_on == "goes on":
        assert kept.bench.facts is now
        anew = fold(PROCEDURE, entries, now)
        assert kept.bench.outcomes == anew.bench.outcomes
        assert state_of(kept.bench) == state_of(anew.bench)


def test_the_movement_that_its_own_entry_made_is_no_news() -> None:
    kept = fold(PROCEDURE, entries_of(PROCEDURE, script("PR-11")), before := world_facts())
    (issued,) = kept.bench.kits
    assert kept.goes_on_under(with_moves(before, [KitMove("issued", issued.at, JOB)]))
    assert not kept.goes_on_under(with_moves(before, [KitMove("issued", issued.at, OTHER)]))


def test_a_recall_of_its_kit_is_news() -> None:
    kept = fold(PROCEDURE, entries_of(PROCEDURE, script("PR-11")), before := world_facts())
    recall = RecallFact(OTHER, kept.bench.kits[0].at, "Jaw pins too soft.")
    assert not kept.goes_on_under(with_moves(before, [], (recall,)))
