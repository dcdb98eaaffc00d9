"""The gate in the data base: no release without a passed verification of the same job, even by hand."""

import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import psycopg
import pytest
from psycopg import errors

from tests.acts import PR_11
from tests.record import Record, add_unit, build_record

Connect = Callable[[], psycopg.Connection[Any]]
RELEASE = """
INSERT INTO releases (company_id, id, job_id, unit_id, entry_id, verification_id, verification_passed, version,
                      released_at, limited_until_follow_up)
VALUES (%(company)s, gen_random_uuid(), %(job)s, %(unit)s, %(entry)s, %(verification)s, %(passed)s, 1, now(), false)
"""
OUTCOME = """
INSERT INTO verification_outcomes (company_id, id, job_id, entry_id, adjustment, passed, recorded_at)
VALUES (%(company)s, %(id)s, %(job)s, %(entry)s, %(entry)s, %(passed)s, now())
"""
JOB = """
INSERT INTO jobs (company_id, id, shop_id, unit_id, coupling_id, top_plate_id, procedure_id, purpose, opened_at,
                  opened_by, state, head_position, chain_head, version, facts_version, summary)
SELECT company_id, gen_random_uuid(), shop_id, %(unit)s, coupling_id, %(plate)s, procedure_id, purpose, now(), 'psql',
       %(state)s, 0, chain_head, 1, 0, '{}'
FROM jobs WHERE company_id = %(company)s AND id = %(job)s
"""


@dataclass
class Jobs:
    """A job whose verification has passed, and one of another unit that nobody has verified."""

    record: Record
    verified: uuid.UUID
    cycle: uuid.UUID
    unverified: uuid.UUID
    entry: uuid.UUID
    unit: uuid.UUID


@pytest.fixture(scope="module")
def jobs(django_db_setup: None, django_db_blocker: Any) -> Jobs:
    from django.db import connection, transaction

    with django_db_blocker.unblock():
        record = build_record(procedures=["PR-11"])
        with transaction.atomic():
            record.enter()
            unit = add_unit(record, "4108")
        verified = record.open_job()
        receipts = record.play(verified, PR_11)
        unverified = record.open_job(unit=str(unit))
        entry = record.log(unverified, PR_11[0])["entry"]
        connection.close()
    play = len(PR_11) - 3  # the last cycle comes before the play reading and the pull test
    return Jobs(record, verified, uuid.UUID(receipts[play]["entry"]), unverified, uuid.UUID(entry), unit)


@pytest.fixture(params=["application", "owner"])
def hand(request: Any, application: Connect, owner: psycopg.Connection[Any], jobs: Jobs) -> Iterator[Any]:
    """A psql session inside the company: as the application, and as the owner of the data base."""
    connection = application() if request.param == "application" else owner
    with connection.transaction(force_rollback=True):
        connection.execute("SELECT set_config('rebuild.company', %s, true)", [str(jobs.record.company)])
        yield connection


def values(jobs: Jobs, **changed: Any) -> dict[str, Any]:
    unverified = {"job": jobs.unverified, "unit": jobs.unit, "entry": jobs.entry}
    return {"company": jobs.record.company, **unverified, "verification": jobs.cycle, "passed": True, **changed}


def test_a_release_of_the_verified_job_itself_can_be_stored(hand: Any, jobs: Jobs) -> None:
    unit = jobs.record.units["PR-11"]
    hand.execute(RELEASE, values(jobs, job=jobs.verified, unit=unit, entry=jobs.cycle))


def test_a_release_without_any_verification_is_refused(hand: Any, jobs: Jobs) -> None:
    with pytest.raises(errors.ForeignKeyViolation, match="releases_gate"):
        hand.execute(RELEASE, values(jobs, verification=uuid.uuid4()))


def test_a_release_with_the_verification_of_another_job_is_refused(hand: Any, jobs: Jobs) -> None:
    with pytest.raises(errors.ForeignKeyViolation, match="releases_gate"):
        hand.execute(RELEASE, values(jobs))


def test_a_release_that_says_its_verification_failed_is_refused(hand: Any, jobs: Jobs) -> None:
    with pytest.raises(errors.CheckViolation, match="releases_need_a_passed_verification"):
        hand.execute(RELEASE, values(jobs, passed=False))


def test_a_release_on_a_failed_verification_is_refused(hand: Any, jobs: Jobs) -> None:
    failed = uuid.uuid4()
    hand.execute(OUTCOME, values(jobs, id=failed, passed=False))
    with pytest.raises(errors.ForeignKeyViolation, match="releases_gate"):
        hand.execute(RELEASE, values(jobs, verification=failed))


@pytest.mark.parametrize("missing", ["verification", "passed"])
def test_a_release_that_leaves_the_verification_open_is_refused(hand: Any, jobs: Jobs, missing: str) -> None:
    with pytest.raises(errors.NotNullViolation):
        hand.execute(RELEASE, values(jobs, **{missing: None}))


def test_a_second_release_of_a_job_is_refused(hand: Any, jobs: Jobs) -> None:
    release = values(jobs, job=jobs.verified, unit=jobs.record.units["PR-11"], entry=jobs.cycle)
    hand.execute(RELEASE, release)
    with pytest.raises(errors.UniqueViolation, match="releases_one_per_job"):
        hand.execute(RELEASE, release)


def of_row(hand: Any, jobs: Jobs, column: str, job: uuid.UUID) -> Any:
    return hand.execute(
        f"SELECT {column} FROM jobs WHERE company_id = %s AND id = %s", [jobs.record.company, job]
    ).fetchone()[0]


def test_two_open_jobs_of_one_unit_are_refused(hand: Any, jobs: Jobs) -> None:
    plate = hand.execute(
        "INSERT INTO top_plates (company_id, id, casting_serial, version)"
        " VALUES (%s, gen_random_uuid(), 'CS-99999', 1) RETURNING id",
        [jobs.record.company],
    ).fetchone()[0]
    with pytest.raises(errors.UniqueViolation, match="jobs_one_open_per_unit"):
        hand.execute(JOB, values(jobs, job=jobs.verified, unit=jobs.unit, plate=plate, state="open"))


def test_two_open_jobs_of_one_casting_are_refused(hand: Any, jobs: Jobs) -> None:
    plate = of_row(hand, jobs, "top_plate_id", jobs.unverified)
    unit = hand.execute(
        "INSERT INTO units (company_id, id, carrier_id, number, kind, version, availability_version)"
        " VALUES (%s, gen_random_uuid(), %s, '9999', 'tractor', 1, 0) RETURNING id",
        [jobs.record.company, jobs.record.carrier],
    ).fetchone()[0]
    with pytest.raises(errors.UniqueViolation, match="jobs_one_open_per_casting"):
        hand.execute(JOB, values(jobs, job=jobs.unverified, unit=unit, plate=plate, state="open"))


def test_a_closed_job_is_in_nobody_s_way(hand: Any, jobs: Jobs) -> None:
    plate = of_row(hand, jobs, "top_plate_id", jobs.unverified)
    hand.execute(JOB, values(jobs, unit=jobs.unit, plate=plate, state="abandoned"))


def test_a_job_is_in_a_known_state(hand: Any, jobs: Jobs) -> None:
    plate = of_row(hand, jobs, "top_plate_id", jobs.unverified)
    with pytest.raises(errors.CheckViolation, match="jobs_state_known"):
        hand.execute(JOB, values(jobs, unit=jobs.unit, plate=plate, state="dispatchable"))


def test_two_entries_never_share_a_position(hand: Any, jobs: Jobs) -> None:
    with pytest.raises(errors.UniqueViolation, match="entries_one_position"):
        hand.execute(
            "INSERT INTO entries (company_id, job_id, shop_id, unit_id, id, position, kind, step, technician_id,"
            " key, device_seq, performed_at, received_at, skew_ms, token, payload, digest, previous, leaf)"
            " SELECT company_id, job_id, shop_id, unit_id, gen_random_uuid(), position, kind, step, technician_id,"
            " key, device_seq, performed_at, received_at, skew_ms, token, payload, digest, previous, leaf"
            " FROM entries WHERE company_id = %s AND id = %s",
            [jobs.record.company, jobs.entry],
        )
