"""A phone that signs one number on two jobs: noted with its place in the log, both jobs held until a lead has looked."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import psycopg
import pytest

from jobs.domain.record_fault import FaultCode
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Kind
from jobs.models.device_fork import DeviceFork
from jobs.models.entry import Entry
from jobs.queries.check_records import check_company
from jobs.services.judge_again import judge_again
from jobs.services.sequence_log import sequence_log
from shops.domain.access import Role
from tests.acts import Act
from tests.api.test_device_chains import second_phone
from tests.bundles.second_verifier import rejects
from tests.record import JOSE, Record
from tests.services.test_export_bundle import bundle_of, inside, keep, trust
from tests.services.test_follow_up import codes, lift
from tests.tampering import unprotected

AGAIN = Act("RM", "rework", {"step": "pull-test", "reason": "Once more."})
FITTING = Act("RM", "hold", {"reason": "Missing grease fitting."})


@pytest.fixture
def key_file(tmp_path: Path, settings: Any) -> Path:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    return tmp_path / "log-key.pem"


@pytest.fixture
def jobs(record: Record) -> tuple[UUID, UUID]:
    """One that is ready for its release, and one that was opened."""
    job = record.open_job()
    record.rebuild(job)
    return job, record.open_job("PR-12")


def copied(record: Record, job: UUID) -> UUID:
    """A copy of RM's phone as it was before its last entry signs on another job."""
    record.phones["RM"].sequence -= 1
    return UUID(record.log(job, FITTING, "PR-12")["entry"])


def note(record: Record) -> None:
    sequence_log(company=record.company)
    judge_again(company=record.company, now=datetime.now(UTC))


def held(record: Record, job: UUID) -> set[str]:
    """The entries for which the gate of the job is shut by a fork."""
    gate = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()
    return {one["entry"] for one in gate["blockers"] if one["code"] == "hold_open" and "another job" in one["what"]}


def said(record: Record, job: UUID, entry: UUID) -> str:
    """What the finding of the fork says of an entry."""
    entries = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/entries?limit=200").json()["items"]
    found = next(one for one in entries if one["entry"] == str(entry))["findings"]
    return next(str(finding["what"]) for finding in found if finding["code"] == "forked_across_jobs")


@pytest.mark.parametrize("when", ["placed together", "placed one after the other"])
def test_both_jobs_are_held_each_for_its_own_entry_which_names_the_other(
    record: Record, jobs: tuple[UUID, UUID], when: str
) -> None:
    first, second = jobs
    one = UUID(record.log(first, AGAIN)["entry"])
    if when == "placed one after the other":
        note(record)
    other = copied(record, second)
    assert held(record, first) == set(), "nobody has seen both yet"
    note(record)
    assert (held(record, first), held(record, second)) == ({str(one)}, {str(other)})
    assert f"entry {other} of job {second}" in said(record, first, one)
    assert f"entry {one} of job {first}" in said(record, second, other)
    lead = record.phones["JD"]
    was = lead.sequence, lead.previous
    refused = record.as_role(Role.LEAD).post("/v1/releases", record.release_token(first), JOSE)
    assert (refused.status_code, refused.json()["blockers"][0]["entry"]) == (409, str(one))
    lead.sequence, lead.previous = was  # what was refused is not in the record
    assert record.log(first, Act("JD", "clear", {"hold": one, "reason": "Restored from a copy."}))["credit"]
    record.release(first)
    assert held(record, second) == {str(other)}, "each job is cleared for itself"


def test_a_fork_is_noted_once(record: Record, jobs: tuple[UUID, UUID]) -> None:
    copied(record, jobs[1])
    note(record)
    note(record)
    with inside(record):
        (noted,) = DeviceFork.objects.all()
    assert (noted.first_job_id, noted.second_job_id) == jobs
    assert (noted.key, noted.number) == (record.phones["RM"].jwk.thumbprint, record.phones["RM"].sequence)


def test_a_release_signed_before_the_copy_came_in_is_suspended_until_somebody_has_looked(
    record: Record, jobs: tuple[UUID, UUID]
) -> None:
    record.release(jobs[0])
    assert codes(record) == ["follow_up_due"]
    copied(record, jobs[1])
    note(record)
    assert codes(record) == ["release_suspended"]
    lift(record)
    second_phone(record, "SV")  # more facts, with which the next entry judges the job again
    record.log(jobs[0], Act("RM", "pause", {"state_note": "Nothing done."}))
    assert codes(record) == ["follow_up_due"]


def test_the_bundle_of_each_job_gives_the_same_gate(record: Record, jobs: tuple[UUID, UUID], key_file: Path) -> None:
    copied(record, jobs[1])
    note(record)
    keep(record)
    trusted = trust(record, key_file)
    for job in jobs:
        raw = bundle_of(record, job)
        report = verify_bundle(raw, trusted)
        assert {remark.kind for remark in report.remarks} == {Kind.NOTE}
        assert "fork" in {remark.code for remark in report.remarks}
        assert rejects(raw, [key.vkey for key in trusted.log_keys]) is None


def test_a_fork_of_which_the_row_was_taken_away_is_named_and_so_is_one_made_up(
    record: Record, jobs: tuple[UUID, UUID], owner: psycopg.Connection[Any]
) -> None:
    twin = copied(record, jobs[1])
    assert not [fault for fault in check_company(record.company) if fault.code is FaultCode.FORK]
    sequence_log(company=record.company)
    assert not [fault for fault in check_company(record.company) if fault.code is FaultCode.FORK]
    with unprotected(owner, "device_forks"):
        owner.execute("DELETE FROM device_forks WHERE company_id = %s", [record.company])
        owner.execute("DELETE FROM log_queue WHERE company_id = %s", [record.company])
    (silent,) = check_company(record.company)
    assert (silent.code, silent.row) == (FaultCode.FORK, twin)
    with inside(record):
        one = Entry.objects.filter(job_id=jobs[0]).first()
        other = Entry.objects.get(id=twin)
        told = {"first": one, "first_job_id": jobs[0], "second": other, "second_job_id": jobs[1]}
        more = {"key": other.key, "number": other.device_seq, "since": other.received_at}
        made = DeviceFork.objects.create(company_id=record.company, id=uuid4(), **told, **more)
    found = {(fault.code, fault.row) for fault in check_company(record.company)}
    assert {(FaultCode.FORK, twin), (FaultCode.FORK, made.id)} <= found
