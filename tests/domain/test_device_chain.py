"""The chain of a phone: what is missing, what came twice, what does not follow, what it may still hold."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.device_chain import HeldClaim, Link, device_chain

START = datetime(2026, 3, 9, 14, 0, tzinfo=UTC)
JOB, OTHER = UUID(int=1), UUID(int=2)


def link(number: int, *, job: UUID = JOB, minute: int | None = None, digest: str = "", previous: str = "") -> Link:
    at = START + timedelta(minutes=number if minute is None else minute)
    named = previous or (f"digest {number - 1}" if number > 1 else None)
    return Link(number, UUID(int=100 + number + len(digest)), job, at, digest or f"digest {number}", named)


def claim(told: int | None, job: UUID = JOB) -> HeldClaim:
    return HeldClaim(UUID(int=7), job, START, told, None if told is None else START + timedelta(hours=5))


def test_a_whole_chain_has_nothing_the_matter_with_it() -> None:
    chain = device_chain([link(number) for number in (3, 1, 2)], [claim(3)])
    assert (chain.last, chain.gaps, chain.forks, chain.broken, chain.unsent) == (3, (), (), (), ())


def test_a_gap_is_known_since_the_next_entry_came_and_names_the_jobs_around_it_and_those_claimed() -> None:
    (gap,) = device_chain([link(31), link(32), link(33), link(35, job=OTHER)], [claim(None, UUID(int=3))]).gaps[1:]
    assert (gap.first, gap.last, gap.since) == (34, 34, START + timedelta(minutes=35))
    assert gap.jobs == (JOB, OTHER, UUID(int=3))


def test_what_a_phone_said_it_had_sent_and_never_came_is_a_gap_at_the_end() -> None:
    (gap,) = device_chain([link(1), link(2)], [claim(5)]).gaps
    assert (gap.first, gap.last, gap.since) == (3, 5, START + timedelta(hours=5))


def test_two_entries_of_one_number_are_a_fork_since_the_second_came() -> None:
    chain = device_chain([link(1), link(2), link(2, digest="another 2", minute=9, job=OTHER), link(3)], [])
    (fork,) = chain.forks
    assert (fork.number, fork.since) == (2, START + timedelta(minutes=9))
    assert [one.job for one in fork.links] == [JOB, OTHER]
    assert chain.broken == (), "entry 3 follows one of the two"


def test_an_entry_that_names_another_one_before_it_is_a_broken_link() -> None:
    chain = device_chain([link(1), link(2, previous="what was never sent")], [])
    assert [one.number for one in chain.broken] == [2]
    assert [one.number for one in device_chain([link(1, previous="something")], []).broken] == [1]


def test_an_open_claim_says_that_the_phone_may_hold_more_after_its_last_number() -> None:
    (unsent,) = device_chain([link(1), link(2)], [claim(None)]).unsent
    assert (unsent.job, unsent.after) == (JOB, 2)


@given(st.sets(st.integers(1, 40), min_size=1))
def test_gaps_and_what_came_make_up_the_whole_up_to_the_last_number(came: set[int]) -> None:
    chain = device_chain([link(number) for number in came], [])
    missing = {number for gap in chain.gaps for number in range(gap.first, gap.last + 1)}
    assert missing | came == set(range(1, max(came) + 1))
    assert not missing & came
