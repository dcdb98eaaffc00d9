"""The version that goes with availability: it only grows, with every fact and every due time that passes."""

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import connection, transaction

from jobs.models.job import Job
from jobs.models.release import FollowUpCompletion
from jobs.queries.availability import availability_documents
from jobs.services.acknowledge_availability import acknowledge_availability
from jobs.services.hold_unit import hold_unit
from shops.domain.access import Role
from shops.domain.errors import AvailabilityMoved
from shops.models.unit import Coupling, TopPlate, Unit
from tests.past import Past, rebuilt_again, released_unit
from tests.record import add_unit

RELEASED = datetime(2026, 3, 2, 20, 25, tzinfo=UTC)
DAY = timedelta(days=1)
OPENED = RELEASED - timedelta(hours=7)
DUE, INSPECTION = RELEASED + 10 * DAY, RELEASED + 90 * DAY


def at(record, unit, now):
    with transaction.atomic():
        record.enter()
        found = availability_documents(record.grant(Role.DISPATCH), [unit], now)[0]
    return found["availability_version"], found["state"], [reason["code"] for reason in found["reasons"]]


@pytest.fixture
def limited(record) -> Past:
    return released_unit(record, "4112", opened_at=OPENED, follow_up_due_at=DUE, next_inspection_at=INSPECTION)


def test_each_due_time_that_passes_raises_the_version_by_one(record, limited):
    first, state, _ = at(record, limited.unit, DUE)
    assert state == "limited"
    assert at(record, limited.unit, DUE + DAY) == (first + 1, "not_available", ["follow_up_overdue"])
    assert at(record, limited.unit, INSPECTION) == (first + 1, "not_available", ["follow_up_overdue"])
    both = at(record, limited.unit, INSPECTION + DAY)
    assert both == (first + 2, "not_available", ["follow_up_overdue", "inspection_overdue"])


def test_a_follow_up_that_was_done_in_time_is_not_counted_as_passed(record, limited):
    before, _, _ = at(record, limited.unit, DUE)
    _complete(record, limited, DUE - DAY)
    assert at(record, limited.unit, DUE + DAY) == (before, "available", [])


def test_a_follow_up_that_was_done_late_stays_counted(record, limited):
    overdue, _, _ = at(record, limited.unit, DUE + DAY)
    _complete(record, limited, DUE + 2 * DAY)
    assert at(record, limited.unit, DUE + 3 * DAY) == (overdue, "available", [])


@transaction.atomic
def _complete(record, past, completed_at):
    record.enter()
    FollowUpCompletion.objects.create(
        id=uuid4(),
        company_id=record.company,
        release_id=past.release,
        job_id=past.job,
        entry_id=past.release,
        completed_at=completed_at,
    )


def test_what_has_passed_stays_counted_when_the_unit_is_rebuilt_again(record, limited):
    overdue, _, _ = at(record, limited.unit, INSPECTION + DAY)
    again = {"follow_up_due_at": INSPECTION + 20 * DAY, "next_inspection_at": INSPECTION + 100 * DAY}
    rebuilt_again(record, limited.unit, version=2, opened_at=INSPECTION + 2 * DAY, **again)
    assert at(record, limited.unit, INSPECTION + 4 * DAY)[:2] == (overdue, "limited")


def test_a_due_time_of_a_release_that_a_later_rebuild_has_made_moot_is_never_counted(record, limited):
    before, _, _ = at(record, limited.unit, DUE)
    rebuilt_again(record, limited.unit, version=2, opened_at=DUE - DAY)
    assert at(record, limited.unit, INSPECTION + DAY) == (before, "available", [])


def test_a_rebuild_that_ends_condemned_leaves_no_release(record, limited):
    with transaction.atomic():
        record.enter()
        coupling = Coupling.objects.get(unit_id=limited.unit)
        Job.objects.create(
            id=uuid4(),
            company_id=record.company,
            shop_id=record.shop,
            unit_id=limited.unit,
            coupling=coupling,
            top_plate_id=coupling.top_plate_id,
            procedure_id=Job.objects.get(id=limited.job).procedure_id,
            opened_at=RELEASED + DAY,
            opened_by="dispatch: DQ",
            state="condemned",
            chain_head=bytes(32),
        )
    assert at(record, limited.unit, RELEASED + 2 * DAY)[1:] == ("not_available", ["rebuild_not_released"])


def test_another_top_plate_ends_the_release_and_raises_the_version(record, limited):
    version, _, _ = at(record, limited.unit, DUE)
    with transaction.atomic():
        record.enter()
        plate = TopPlate.objects.create(id=uuid4(), company_id=record.company, casting_serial="CS-81940")
        Coupling.objects.filter(unit_id=limited.unit).update(top_plate_id=plate.id)
    assert at(record, limited.unit, DUE) == (version + 1, "not_available", ["coupling_changed"])


def test_a_coupling_that_moves_to_another_unit_raises_both_units_versions(record, limited):
    with transaction.atomic():
        record.enter()
        other = add_unit(record, "4120")
        Coupling.objects.filter(unit_id=other).update(unit_id=None)
    moved_from, moved_to = at(record, limited.unit, DUE)[0], at(record, other, DUE)[0]
    with transaction.atomic():
        record.enter()
        Coupling.objects.filter(unit_id=limited.unit).update(unit_id=other)
    assert at(record, limited.unit, DUE) == (moved_from + 1, "not_available", ["coupling_changed"])
    assert at(record, other, DUE) == (moved_to + 1, "not_available", ["no_release"])


def test_an_acknowledgement_waits_for_a_hold_that_is_being_placed_and_then_is_refused(record, committed):
    unit = record.units["PR-11"]
    now = datetime.now(UTC)
    version, _, _ = at(record, unit, now)
    held = threading.Event()

    def place() -> None:
        with committed(), transaction.atomic():
            record.enter()
            order = {"kind": "order", "reason": "Wait.", "may_clear": None}
            hold_unit(grant=record.grant(Role.LEAD), identifier=uuid4(), unit=unit, now=now, **order)
            held.set()
            _wait_until_somebody_waits()
        connection.close()

    def acknowledge() -> Exception | None:
        assert held.wait(10)
        try:
            with committed(), transaction.atomic():
                record.enter()
                grant = record.grant(Role.DISPATCH)
                acknowledge_availability(grant=grant, identifier=uuid4(), unit=unit, version=version, now=now)
        except AvailabilityMoved as refusal:
            return refusal
        finally:
            connection.close()
        return None

    with ThreadPoolExecutor(2) as pool:
        placed, acknowledged = pool.submit(place), pool.submit(acknowledge)
        placed.result(120)
        refusal = acknowledged.result(120)
    assert isinstance(refusal, AvailabilityMoved)
    assert refusal.members == {"availability_version": version + 1}
    with transaction.atomic():
        record.enter()
        assert Unit.objects.get(id=unit).availability_version == version + 1


def _wait_until_somebody_waits() -> None:
    """Until another session of this data base waits for a lock that this transaction holds."""
    sql = "SELECT count(*) FROM pg_locks WHERE NOT granted AND pg_backend_pid() = ANY(pg_blocking_pids(pid))"
    with connection.cursor() as cursor:
        for _ in range(6000):
            cursor.execute(sql)
            if cursor.fetchone()[0]:
                return
            cursor.execute("SELECT pg_sleep(0.01)")
    raise AssertionError("nobody waited for the unit's row")
