"""What holds of the fold whatever is logged: random rebuilds of the shipped procedures and of small made-up ones."""

import random
from collections.abc import Sequence

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from jobs.domain.bench import Bench
from jobs.domain.entry import Entry
from jobs.domain.fold import Fold, derive_state, fold
from jobs.domain.job_state import JobState, state_of
from jobs.domain.procedure import Procedure
from tests.gate_model import may_be_open
from tests.strategies import (
    Placed,
    arrivals,
    disturbed,
    entries_of,
    scattered,
    script,
    shipped,
    small_jobs,
    world_facts,
)

CODES = ("PR-11", "PR-12")


def derived(procedure: Procedure, entries: Sequence[Entry]) -> JobState:
    return derive_state(procedure, entries, world_facts())


def added(procedure: Procedure, entries: Sequence[Entry]) -> Fold:
    folded = Fold(Bench(procedure, world_facts()))
    for entry in entries:
        folded.add(entry)
    return folded


@pytest.mark.parametrize("code", CODES)
def test_a_complete_rebuild_opens_the_gate_and_every_entry_earns_credit(code: str) -> None:
    procedure = shipped(code)
    entries = entries_of(procedure, script(code))
    state = derived(procedure, entries)
    assert state.unmet == ()
    assert all(state.outcomes[entry.id].credit for entry in entries)
    assert may_be_open(procedure, script(code))


@pytest.mark.parametrize("code", CODES)
def test_a_rebuild_with_any_one_entry_left_out_does_not_open_the_gate(code: str) -> None:
    procedure, whole = shipped(code), script(code)
    for missing in range(len(whole)):
        entries = entries_of(procedure, [*whole[:missing], *whole[missing + 1 :]])
        assert derived(procedure, entries).unmet, whole[missing].act


@pytest.mark.parametrize("code", CODES)
@settings(max_examples=12)
@given(data=st.data())
def test_a_prefix_never_depends_on_what_follows(code: str, data: st.DataObject) -> None:
    procedure = shipped(code)
    entries = entries_of(procedure, data.draw(disturbed(code)))
    running = Fold(Bench(procedure, world_facts()))
    pictures = []
    for entry in entries:
        running.add(entry)
        pictures.append(state_of(running.bench))
    for length in sorted({data.draw(st.integers(1, len(entries))) for _ in range(3)}):
        assert pictures[length - 1] == derived(procedure, entries[:length])


@settings(max_examples=60)
@given(job=small_jobs())
def test_a_prefix_of_a_small_job_never_depends_on_what_follows(job: tuple[Procedure, list[Placed]]) -> None:
    procedure, placed = job
    entries = entries_of(procedure, placed)
    running = Fold(Bench(procedure, world_facts()))
    for length, entry in enumerate(entries, start=1):
        running.add(entry)
        assert state_of(running.bench) == derived(procedure, entries[:length])


@pytest.mark.parametrize("code", CODES)
@settings(max_examples=12)
@given(data=st.data())
def test_one_by_one_gives_the_same_state_as_all_at_once_in_any_order_of_arrival(code: str, data: st.DataObject) -> None:
    procedure = shipped(code)
    entries = entries_of(procedure, data.draw(scattered(data.draw(disturbed(code, most=3)))))
    one_by_one = added(procedure, data.draw(arrivals(entries)))
    assert state_of(one_by_one.bench) == derived(procedure, entries)


@settings(max_examples=80)
@given(data=st.data())
def test_late_entries_of_a_small_job_give_the_same_state_as_if_they_had_been_in_time(data: st.DataObject) -> None:
    procedure, placed = data.draw(small_jobs())
    entries = entries_of(procedure, data.draw(scattered(placed)))
    expected = derived(procedure, entries)
    assert state_of(added(procedure, data.draw(arrivals(entries))).bench) == expected
    assert derived(procedure, data.draw(st.permutations(entries))) == expected


@settings(max_examples=80)
@given(data=st.data())
def test_what_a_fold_says_has_changed_is_enough_to_keep_a_projection_right(data: st.DataObject) -> None:
    procedure, placed = data.draw(small_jobs())
    entries = entries_of(procedure, data.draw(scattered(placed)))
    running = Fold(Bench(procedure, world_facts()))
    projection = {}
    for entry in data.draw(arrivals(entries)):
        running.add(entry)
        projection.update({changed: running.bench.outcomes[changed] for changed in running.bench.changed})
        running.bench.changed.clear()
    assert projection == derived(procedure, entries).outcomes


@settings(max_examples=40)
@given(data=st.data())
def test_a_copy_of_a_fold_goes_its_own_way(data: st.DataObject) -> None:
    procedure, placed = data.draw(small_jobs())
    entries = entries_of(procedure, placed)
    at = data.draw(st.integers(0, len(entries)))
    original = fold(procedure, entries[:at], world_facts())
    before = state_of(original.bench)
    copy = original.copy()
    for entry in entries[at:]:
        copy.add(entry)
    assert state_of(original.bench) == before
    assert state_of(copy.bench) == derived(procedure, entries)


@pytest.mark.parametrize("code", CODES)
@settings(max_examples=60)
@given(data=st.data())
def test_the_gate_of_a_shipped_procedure_is_never_open_against_the_model(code: str, data: st.DataObject) -> None:
    procedure, placed = shipped(code), data.draw(disturbed(code))
    is_open = not derived(procedure, entries_of(procedure, placed)).unmet
    event("open" if is_open else "closed")
    assert may_be_open(procedure, placed) or not is_open


@settings(max_examples=300)
@given(job=small_jobs())
def test_the_gate_of_a_small_procedure_is_never_open_against_the_model(
    job: tuple[Procedure, list[Placed]],
) -> None:
    procedure, placed = job
    is_open = not derived(procedure, entries_of(procedure, placed)).unmet
    event("open" if is_open else "closed")
    assert may_be_open(procedure, placed) or not is_open


def test_the_model_is_asked_about_open_gates_and_closed_ones_alike() -> None:
    answers = {True: 0, False: 0}

    @settings(max_examples=100, database=None)
    @given(job=small_jobs())
    def ask(job: tuple[Procedure, list[Placed]]) -> None:
        procedure, placed = job
        answers[not derived(procedure, entries_of(procedure, placed)).unmet] += 1

    ask()
    assert min(answers.values()) >= 10, answers


def test_the_order_in_which_facts_and_entries_are_handed_over_does_not_matter() -> None:
    procedure = shipped("PR-11")
    entries = entries_of(procedure, script("PR-11"))
    expected = derived(procedure, entries)
    shuffled = entries.copy()
    random.Random(4107).shuffle(shuffled)
    assert derived(procedure, shuffled) == expected
