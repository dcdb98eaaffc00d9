"""Whether a unit may go, from facts alone; journey A's dates for the release."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.availability import (
    Hold,
    OpenJob,
    RebuildFacts,
    ReleaseFacts,
    State,
    Suspension,
    UnitFacts,
    availability,
)
from jobs.domain.ready_estimate import ready_estimate

RELEASED = datetime(2026, 3, 2, 20, 25, tzinfo=UTC)
DUE = RELEASED + timedelta(days=10)
INSPECTION = RELEASED + timedelta(days=90)
SOON = RELEASED + timedelta(days=1)
HOUR = timedelta(hours=1)

RELEASE = ReleaseFacts(
    id=UUID(int=1),
    version=1,
    released_at=RELEASED,
    fits_coupling=True,
    needs_follow_up=True,
    follow_up_due_at=DUE,
    next_inspection_at=INSPECTION,
)
REBUILD = RebuildFacts(UUID(int=2), "released", RELEASED - timedelta(hours=7))
LIMITED = UnitFacts(unit=UUID(int=3), version=3, rebuild=REBUILD, release=RELEASE)
FREE = replace(LIMITED, release=replace(RELEASE, followed_up_at=RELEASED + timedelta(days=7)))
LATER = RELEASED + timedelta(days=8)
HOLD = Hold(UUID(int=4), "legal_hold", "a trailer came off", "quality", LATER - HOUR)
SUSPENSION = Suspension(UUID(int=5), "recall", "lot LT-26-009", LATER - 2 * HOUR)
OPEN = OpenJob(UUID(int=6), "B", "rebuild", LATER - 3 * HOUR)


def codes(facts, now):
    return [reason.code for reason in availability(facts, now).reasons]


def test_a_unit_that_was_never_rebuilt_is_not_available():
    found = availability(UnitFacts(unit=UUID(int=3), version=0), SOON)
    assert found.state is State.NOT_AVAILABLE
    assert [reason.code for reason in found.reasons] == ["no_release"]
    assert found.since is None


def test_a_released_unit_that_waits_for_its_follow_up_is_limited_until_it_is_due():
    found = availability(LIMITED, SOON)
    assert found.state is State.LIMITED
    assert (found.reasons[0].code, found.reasons[0].due_at) == ("follow_up_due", DUE)
    assert (found.since, found.release_version) == (RELEASED, 1)


def test_at_the_moment_a_follow_up_is_due_the_unit_is_still_limited_and_after_it_not_available():
    assert availability(LIMITED, DUE).state is State.LIMITED
    after = availability(LIMITED, DUE + timedelta(microseconds=1))
    assert after.state is State.NOT_AVAILABLE
    assert (after.reasons[0].code, after.since) == ("follow_up_overdue", DUE)


def test_a_follow_up_that_was_done_makes_the_unit_available_since_then():
    found = availability(FREE, LATER)
    assert (found.state, found.reasons) == (State.AVAILABLE, ())
    assert found.since == RELEASED + timedelta(days=7)


def test_an_inspection_that_is_overdue_by_the_calendar_ends_availability():
    assert availability(FREE, INSPECTION).state is State.AVAILABLE
    assert codes(FREE, INSPECTION + HOUR) == ["inspection_overdue"]


@pytest.mark.parametrize(
    ("facts", "code", "since"),
    [
        (replace(FREE, holds=(HOLD,)), "unit_held", HOLD.held_at),
        (
            replace(FREE, release=replace(FREE.release, suspensions=(SUSPENSION,))),
            "release_suspended",
            LATER - 2 * HOUR,
        ),
        (replace(FREE, release=replace(FREE.release, revoked_at=LATER, revocation="x")), "release_revoked", LATER),
        (replace(FREE, release=replace(FREE.release, fits_coupling=False)), "coupling_changed", None),
        (replace(FREE, condemned_casting="CS-70213", condemned_at=LATER), "casting_condemned", LATER),
        (replace(FREE, job=OPEN, rebuild=replace(REBUILD, state="open")), "job_open", OPEN.opened_at),
        (replace(FREE, job=replace(OPEN, purpose="follow_up")), "job_open", OPEN.opened_at),
        (replace(FREE, rebuild=replace(REBUILD, state="condemned")), "rebuild_not_released", REBUILD.opened_at),
        (replace(FREE, rebuild=replace(REBUILD, state="abandoned")), "rebuild_not_released", REBUILD.opened_at),
    ],
)
def test_each_thing_that_stands_against_a_unit_makes_it_not_available(facts, code, since):
    found = availability(facts, LATER)
    assert (found.state, found.since) == (State.NOT_AVAILABLE, since)
    assert [reason.code for reason in found.reasons] == [code]
    assert found.reasons[0].what
    assert found.reasons[0].cure


def test_everything_that_stands_against_a_unit_is_named_at_once_and_since_is_the_first():
    facts = replace(
        LIMITED,
        holds=(HOLD,),
        condemned_casting="CS-70213",
        condemned_at=LATER,
        release=replace(RELEASE, suspensions=(SUSPENSION,), revoked_at=LATER, revocation="x", fits_coupling=False),
    )
    now = INSPECTION + HOUR
    assert codes(facts, now) == [
        "casting_condemned",
        "unit_held",
        "release_revoked",
        "release_suspended",
        "coupling_changed",
        "follow_up_overdue",
        "inspection_overdue",
    ]
    assert availability(facts, now).since == SUSPENSION.suspended_at


def test_a_rebuild_in_work_says_nothing_of_the_release_before_it():
    suspended = replace(FREE.release, suspensions=(SUSPENSION,))
    facts = replace(FREE, job=OPEN, rebuild=replace(REBUILD, state="open"), release=suspended)
    assert codes(facts, INSPECTION + HOUR) == ["job_open"]


def test_a_lead_hold_may_be_cleared_by_lead_or_quality_and_says_so():
    hold = replace(HOLD, kind="order", may_clear="lead")
    assert availability(replace(FREE, holds=(hold,)), LATER).reasons[0].cure.startswith("A lead or quality")


facts_strategy = st.builds(
    UnitFacts,
    unit=st.just(UUID(int=3)),
    version=st.just(3),
    rebuild=st.one_of(
        st.none(),
        st.builds(
            RebuildFacts,
            st.just(UUID(int=2)),
            st.sampled_from(["open", "released", "condemned", "abandoned"]),
            st.just(RELEASED - HOUR),
        ),
    ),
    job=st.one_of(st.none(), st.just(OPEN)),
    release=st.one_of(
        st.none(),
        st.builds(
            ReleaseFacts,
            id=st.just(UUID(int=1)),
            version=st.just(1),
            released_at=st.just(RELEASED),
            fits_coupling=st.booleans(),
            suspensions=st.sampled_from([(), (SUSPENSION,)]),
            revoked_at=st.sampled_from([None, LATER]),
            revocation=st.just("x"),
            needs_follow_up=st.booleans(),
            follow_up_due_at=st.sampled_from([None, DUE]),
            followed_up_at=st.sampled_from([None, LATER]),
            next_inspection_at=st.sampled_from([None, INSPECTION]),
        ),
    ),
    holds=st.sampled_from([(), (HOLD,)]),
    condemned_at=st.sampled_from([None, LATER]),
    condemned_casting=st.just("CS-1"),
)


@given(facts=facts_strategy, now=st.sampled_from([SOON, LATER, DUE + HOUR, INSPECTION + HOUR]))
def test_a_unit_may_go_only_with_a_release_in_force_of_its_newest_rebuild_and_nothing_against_it(facts, now):
    found = availability(facts, now)
    if found.state is not State.NOT_AVAILABLE:
        release = facts.release
        assert facts.rebuild is not None
        assert facts.rebuild.state == "released"
        assert facts.job is None
        assert not facts.holds
        assert facts.condemned_at is None
        assert release is not None
        assert release.fits_coupling
        assert release.revoked_at is None
        assert not release.suspensions
        assert release.next_inspection_at is None or now <= release.next_inspection_at
    assert bool(found.reasons) == (found.state is not State.AVAILABLE)


def test_a_ready_estimate_asks_those_that_took_longer_than_this_one_has_so_far():
    durations = [timedelta(hours=hours) for hours in (7, 8, 31, 32, 33, 35, 40)]
    found = ready_estimate(RELEASED, RELEASED + timedelta(hours=30), durations)
    assert found is not None
    assert (found.likely_at - RELEASED, found.late_at - RELEASED) == (timedelta(hours=33), timedelta(hours=40))
    assert found.rebuilds == 5


def test_there_is_no_ready_estimate_from_fewer_than_five_rebuilds():
    durations = [timedelta(hours=hours) for hours in (31, 32, 33, 35)]
    assert ready_estimate(RELEASED, RELEASED, durations) is None


@given(
    hours=st.lists(st.integers(1, 200), max_size=30),
    so_far=st.integers(0, 220),
)
def test_a_ready_estimate_lies_ahead_and_its_late_time_is_not_before_its_likely_one(hours, so_far):
    now = RELEASED + timedelta(hours=so_far)
    found = ready_estimate(RELEASED, now, [timedelta(hours=hour) for hour in hours])
    longer = [hour for hour in hours if hour > so_far]
    assert (found is None) == (len(longer) < 5)
    if found is not None:
        assert now < found.likely_at <= found.late_at
        assert 2 * sum(RELEASED + timedelta(hours=hour) <= found.likely_at for hour in longer) >= len(longer)
        assert 10 * sum(RELEASED + timedelta(hours=hour) <= found.late_at for hour in longer) >= 9 * len(longer)
