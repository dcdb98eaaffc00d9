"""What is in no leaf of the log, since it follows from what is: the check derives it again and names what does not."""

from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.domain.record_fault import FaultCode
from jobs.queries.check_records import check_company
from shops.models.device_key import DeviceKey
from shops.services.revoke_device_key import revoke_device_key
from tests.acts import SCRIPTS
from tests.record import Record


def faults(record: Record) -> list[tuple[FaultCode, str, Any, str]]:
    codes = (FaultCode.OUTCOME, FaultCode.JOB_STATE)
    found = [fault for fault in check_company(record.company) if fault.code in codes]
    return [(fault.code, fault.table, fault.row, fault.message) for fault in found]


@pytest.fixture
def jobs(record: Record) -> tuple[UUID, UUID]:
    """A released rebuild, and a job whose only entry has no credit."""
    released = record.open_job()
    record.rebuild(released)
    record.release(released)
    begun = record.open_job()
    assert not record.play(begun, [SCRIPTS["PR-11"][10]])[0]["credit"]
    assert faults(record) == []
    return released, begun


@pytest.mark.parametrize("version", ["facts_version", "facts_version - 1"])
def test_credit_given_in_the_data_base_is_named(
    record: Record, owner: Any, jobs: tuple[UUID, UUID], version: str
) -> None:
    (entry,) = owner.execute(
        "UPDATE entry_credits SET credit = true WHERE job_id = %s RETURNING entry_id", [jobs[1]]
    ).fetchone()
    owner.execute(f"UPDATE jobs SET facts_version = {version} WHERE id = %s", [jobs[1]])
    message = "credit is stored that the signed entries do not earn"
    assert faults(record) == [(FaultCode.OUTCOME, "entry_credits", entry, message)]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("UPDATE entry_credits SET credit = false", "the signed entries earn credit that is not stored"),
        (
            'UPDATE entry_credits SET findings = \'[{"code": "x"}]\'',
            "the stored findings are not those of the signed entries",
        ),
        ("DELETE FROM entry_credits", "nothing is stored of what the entry earned"),
    ],
)
def test_credit_or_findings_taken_away_in_the_data_base_are_named(
    record: Record, owner: Any, jobs: tuple[UUID, UUID], change: str, message: str
) -> None:
    first = "(SELECT id FROM entries WHERE job_id = %s AND position = 1)"
    (entry,) = owner.execute(f"{change} WHERE entry_id = {first} RETURNING entry_id", [jobs[0]]).fetchone()
    assert faults(record) == [(FaultCode.OUTCOME, "entry_credits", entry, message)]


def test_a_job_released_in_its_row_alone_is_named_and_so_is_one_that_is_opened_again(
    record: Record, owner: Any, jobs: tuple[UUID, UUID]
) -> None:
    released, begun = jobs
    owner.execute("UPDATE jobs SET state = 'released' WHERE id = %s", [begun])
    owner.execute("UPDATE jobs SET state = 'open' WHERE id = %s", [released])
    assert set(faults(record)) == {
        (FaultCode.JOB_STATE, "jobs", begun, "nothing in the record makes it released"),
        (FaultCode.JOB_STATE, "jobs", released, "it is open, but the record says released"),
    }


def test_newer_facts_that_would_give_more_are_no_fault(record: Record, owner: Any, jobs: tuple[UUID, UUID]) -> None:
    owner.execute("UPDATE companies SET facts_version = facts_version + 1 WHERE id = %s", [record.company])
    assert faults(record) == []


def test_credit_that_the_worker_is_about_to_take_back_is_no_fault(
    record: Record, owner: Any, jobs: tuple[UUID, UUID]
) -> None:
    owner.execute("UPDATE jobs SET facts_version = facts_version - 1 WHERE id = %s", [jobs[0]])
    with transaction.atomic():
        record.enter()
        revoke_device_key(
            key=DeviceKey.objects.get(technician_id=record.people["RM"]),
            identifier=uuid4(),
            revoked_from=record.set_up_at,
            reason="Lost since before the job",
            recorded_by="a lead",
            now=record.clock,
        )
    assert faults(record) == []


def test_an_entry_that_cannot_be_read_any_more_ends_no_check(
    record: Record, owner: Any, jobs: tuple[UUID, UUID]
) -> None:
    owner.execute("SET session_replication_role = replica")
    owner.execute("ALTER TABLE entries DISABLE TRIGGER entries_refuse_change")
    try:
        owner.execute("UPDATE entries SET payload = '[' WHERE job_id = %s", [jobs[1]])
    finally:
        owner.execute("ALTER TABLE entries ENABLE ALWAYS TRIGGER entries_refuse_change")
        owner.execute("SET session_replication_role = origin")
    ((code, table, row, message),) = faults(record)
    assert (code, table, row) == (FaultCode.OUTCOME, "jobs", jobs[1])
    assert message.startswith("what its entries earned cannot be derived again")
