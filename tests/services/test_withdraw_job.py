"""A withdrawal against what comes at the same moment, under the check of the record, and in what is exported."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest

from jobs.domain.record_fault import FaultCode
from jobs.queries.availability import availability_documents
from jobs.services.open_job import JobRequest, open_job
from jobs.services.withdraw_job import withdraw_job
from shops.domain.access import Role
from tests.acts import SCRIPTS
from tests.api.test_withdrawals import FIRST, faults, withdraw, withdrawals
from tests.bundles.second_verifier import rejects
from tests.past import released_unit
from tests.record import JOSE, KITS, Record
from tests.services.races import Connect, Running, job_locked, race, statuses
from tests.services.test_export_bundle import bundle_of, found, inside, keep, trust
from tests.services.test_export_selection import history, report
from tests.services.test_follow_up import codes, state_of

DAY = timedelta(days=1)


@pytest.fixture
def key_file(tmp_path: Path, settings: Any) -> Path:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    return tmp_path / "log-key.pem"


@pytest.mark.parametrize("withdrawal_first", [True, False])
def test_an_entry_that_races_with_the_withdrawal_is_stored_and_the_job_is_open(
    record: Record, application: Connect, withdrawal_first: bool
) -> None:
    job = record.open_job()
    token = record.sign(job, FIRST)
    calls = {
        "withdrawal": lambda: withdraw(record, job),
        "entry": lambda: record.as_role(Role.TECHNICIAN).post("/v1/entries", token, JOSE),
    }
    names = sorted(calls, reverse=withdrawal_first)
    with job_locked(record, job, application) as wait_for:
        first = Running([calls[names[0]]])
        wait_for(1)
        second = Running([calls[names[1]]])
        wait_for(2)
    answered = dict(zip(names, [*first.finish(), *second.finish()], strict=True))
    assert answered["entry"].status_code == 201, answered["entry"].content
    assert answered["withdrawal"].status_code == (201 if withdrawal_first else 409)
    assert len(withdrawals(record, job)) == withdrawal_first
    assert (state_of(record, job), codes(record)) == ("open", ["job_open"])
    assert faults(record) == []


def test_two_withdrawals_at_once_are_one(record: Record) -> None:
    job = record.open_job()
    assert statuses(race(*(lambda: withdraw(record, job) for _ in range(2)))) == [201, 409]
    other, name = record.open_job("PR-12"), str(uuid4())
    assert statuses(race(*(lambda: withdraw(record, other, id=name) for _ in range(2)))) == [200, 201]
    assert (len(withdrawals(record, job)), len(withdrawals(record, other))) == (1, 1)


@pytest.mark.parametrize("_round", range(3))
def test_a_kit_is_not_issued_to_a_job_that_is_withdrawn_meanwhile(record: Record, _round: int) -> None:
    job, parts = record.open_job(), record.as_role(Role.PARTS)
    kit = parts.get(f"/v1/kits?serial={KITS['PR-11']}").json()["items"][0]["id"]
    issue = {"id": str(uuid4()), "kind": "issued", "shop": str(record.shop), "job": str(job)}
    answers = race(lambda: parts.post(f"/v1/kits/{kit}/movements", issue), lambda: withdraw(record, job))
    assert statuses(answers) == [201, 409]


def test_an_entry_and_a_new_job_on_the_unit_at_once_leave_one_job_open(record: Record) -> None:
    job = record.open_job()
    assert withdraw(record, job).status_code == 201
    token, body = record.sign(job, FIRST), record.job_request(uuid4())
    answers = race(
        lambda: record.as_role(Role.TECHNICIAN).post("/v1/entries", token, JOSE),
        lambda: record.as_role(Role.DISPATCH).post("/v1/jobs", body),
    )
    assert statuses(answers) == [201, 409]
    refusal = next(answer for answer in answers if answer.status_code == 409)
    assert refusal.json()["type"].endswith(":job-already-open")
    assert len(record.as_role(Role.LEAD).get("/v1/jobs?state=open").json()["items"]) == 1


@pytest.mark.parametrize("entries", [0, 1])
def test_a_job_that_is_abandoned_in_its_row_alone_is_named(record: Record, owner: Any, entries: int) -> None:
    job = record.open_job()
    for act in SCRIPTS["PR-11"][:entries]:
        record.log(job, act)
    owner.execute("UPDATE jobs SET state = 'abandoned' WHERE id = %s", [job])
    told = [(fault.code, fault.table, fault.row, fault.message) for fault in faults(record)]
    assert told == [(FaultCode.JOB_STATE, "jobs", job, "nothing in the record makes it abandoned")]


def test_a_withdrawn_job_that_is_opened_in_its_row_alone_is_named(record: Record, owner: Any) -> None:
    job = record.open_job()
    assert withdraw(record, job).status_code == 201
    owner.execute("UPDATE jobs SET state = 'open' WHERE id = %s", [job])
    told = [(fault.code, fault.table, fault.row, fault.message) for fault in faults(record)]
    assert told == [(FaultCode.JOB_STATE, "jobs", job, "it is open, but the record says abandoned")]


def test_a_withdrawn_job_with_an_entry_that_stays_abandoned_is_named(record: Record, owner: Any) -> None:
    job = record.open_job()
    assert withdraw(record, job).status_code == 201
    record.log(job, FIRST)
    owner.execute("UPDATE jobs SET state = 'abandoned' WHERE id = %s", [job])
    assert [fault.message for fault in faults(record)] == ["nothing in the record makes it abandoned"]


def version_at(record: Record, unit: UUID, now: datetime) -> int:
    with inside(record):
        return int(availability_documents(record.grant(Role.DISPATCH), [unit], now)[0]["availability_version"])


def test_the_version_never_falls_when_an_entry_opens_a_job_again_from_before_a_due_time(record: Record) -> None:
    """While it was withdrawn, both due times of the release before passed and were counted."""
    now = datetime.now(UTC)
    unit = released_unit(
        record, "4112", opened_at=now - 9 * DAY, follow_up_due_at=now - DAY, next_inspection_at=now - DAY / 2
    ).unit
    job = uuid4()
    versions = [version_at(record, unit, now - 3 * DAY)]
    request = JobRequest(job, record.shop, unit, "PR-11")
    with inside(record):
        open_job(grant=record.grant(Role.DISPATCH), request=request, now=now - 3 * DAY)
    versions.append(version_at(record, unit, now - 2 * DAY))
    with inside(record):
        asked = {"identifier": uuid4(), "job": job, "reason": "A slip.", "now": now - 2 * DAY}
        withdraw_job(grant=record.grant(Role.DISPATCH), **asked)
    versions += [version_at(record, unit, now - 2 * DAY), version_at(record, unit, now)]
    record.log(job, FIRST)
    versions.append(version_at(record, unit, datetime.now(UTC)))
    assert versions == sorted(set(versions))
    assert versions[3] == versions[2] + 2  # the two that passed


@pytest.mark.parametrize("purpose", ["rebuild", "follow_up"])
def test_the_history_of_a_unit_with_a_withdrawn_job_verifies(
    record: Record,
    key_file: Path,
    purpose: str,
) -> None:
    rebuilt = record.open_job()
    record.rebuild(rebuilt)
    record.release(rebuilt)
    job = record.open_job(purpose=purpose)
    assert withdraw(record, job).status_code == 201
    keep(record)
    for one in (rebuilt, job):
        assert found(bundle_of(record, one), trust(record, key_file)) == set()
    raw = history(record, record.units["PR-11"])
    assert report(raw, record, key_file).exit_code == 0
    assert rejects(raw, [key.vkey for key in trust(record, key_file).log_keys]) is None
    printed = record.as_role(Role.AUDITOR).get(f"/v1/jobs/{job}/printed_record")
    assert (printed.status_code, printed.content[:5]) == (200, b"%PDF-")


def test_a_bundle_of_a_job_called_abandoned_without_a_withdrawal_is_refuted(
    record: Record,
    owner: Any,
    key_file: Path,
) -> None:
    job = record.open_job()
    keep(record)
    owner.execute("UPDATE jobs SET state = 'abandoned' WHERE id = %s", [job])
    assert {("MISMATCH", "state"), ("MISMATCH", "availability")} == found(
        bundle_of(record, job), trust(record, key_file)
    )
