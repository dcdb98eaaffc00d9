"""A token for records between dates: neither an entry beyond them, nor what is derived from a whole job."""

from datetime import datetime
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction

from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from tests.acts import SCRIPTS
from tests.record import Caller, Record, issue_token

Job = tuple[UUID, list[dict[str, Any]]]


@pytest.fixture
def job(record: Record) -> Job:
    job = record.open_job()
    acts = SCRIPTS["PR-11"][:5]
    return job, [*record.play(job, acts[:2]), *record.play(job, acts[2:])]


def dated(record: Record, **dates: datetime) -> Caller:
    with transaction.atomic():
        record.enter()
        return Caller(issue_token(record, Role.AUDITOR, TokenScope(**dates)))


def entries_for(caller: Caller, job: UUID, query: str = "") -> list[str]:
    answer = caller.get(f"/v1/jobs/{job}/entries{query}")
    assert answer.status_code == 200
    return [item["entry"] for item in answer.json()["items"]]


def test_a_job_s_entries_are_those_that_arrived_between_the_dates(record: Record, job: Job) -> None:
    sent = [one["entry"] for one in job[1]]
    third = datetime.fromisoformat(job[1][2]["received_at"])
    early, late = dated(record, records_to=third), dated(record, records_from=third)
    assert (entries_for(early, job[0]), entries_for(late, job[0])) == (sent[:2], sent[2:])
    assert entries_for(late, job[0], "?limit=1") == sent[2:3]


@pytest.mark.parametrize("path", ["jobs/{job}/readings", "jobs/{job}/steps", "jobs/{job}/gate", "units/{unit}/wear"])
def test_what_is_derived_from_a_whole_job_is_not_told(record: Record, job: Job, path: str) -> None:
    caller = dated(record, records_to=record.set_up_at)
    answer = caller.get("/v1/" + path.format(job=job[0], unit=record.units["PR-11"]))
    assert (answer.status_code, answer.json()["type"]) == (403, "urn:rebuild-record:problem:not-permitted")


def test_who_looked_is_not_told(record: Record) -> None:
    assert dated(record, records_to=record.set_up_at).get("/v1/access_log").status_code == 403
