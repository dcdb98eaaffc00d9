"""Silence about a suspension is escalated after thirty minutes, once, unless somebody took note."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.models.escalation import Escalation
from jobs.models.release import ReleaseSuspension
from jobs.services.duties import DUTIES
from jobs.services.escalate import escalate
from shops.domain.access import Role
from tests.past import Past, released_unit
from tests.record import Record

NOW = datetime.now(UTC)
LATE = timedelta(minutes=30, seconds=1)


@pytest.fixture
def past(record: Record) -> Past:
    return released_unit(record, "4140", opened_at=NOW - timedelta(days=3))


def suspend(record: Record, past: Past) -> str:
    body = {"id": str(uuid4()), "reason": "The driver reports a knock."}
    answer = record.as_role(Role.LEAD).post(f"/v1/releases/{past.release}/suspensions", body)
    assert answer.status_code == 201, answer.content
    return str(body["id"])


def acknowledge(record: Record, past: Past) -> Any:
    dispatch = record.as_role(Role.DISPATCH)
    version = dispatch.get(f"/v1/units/{past.unit}/availability").json()["availability_version"]
    body = {"id": str(uuid4()), "availability_version": version}
    return dispatch.post(f"/v1/units/{past.unit}/acknowledgements", body)


def escalated(record: Record) -> list[str]:
    items = record.as_role(Role.QUALITY).get("/v1/escalations").json()["items"]
    return [item["suspension"] for item in items]


def after(record: Record, wait: timedelta = LATE) -> None:
    escalate(company=record.company, now=datetime.now(UTC) + wait)


def test_the_worker_has_this_duty() -> None:
    assert escalate in [duty.run for duty in DUTIES]


def test_silence_is_escalated_once(record: Record, past: Past) -> None:
    suspension = suspend(record, past)
    after(record, timedelta(minutes=29))
    assert escalated(record) == []
    after(record)
    after(record)
    assert escalated(record) == [suspension]


def test_whoever_took_note_in_time_is_not_called(record: Record, past: Past) -> None:
    suspend(record, past)
    assert acknowledge(record, past).status_code == 201
    after(record)
    assert escalated(record) == []


def test_a_note_of_before_the_suspension_is_none_of_it(record: Record, past: Past) -> None:
    assert acknowledge(record, past).status_code == 201
    suspension = suspend(record, past)
    after(record)
    assert escalated(record) == [suspension]


def test_a_suspension_knows_the_version_that_it_made(record: Record, past: Past) -> None:
    suspension = suspend(record, past)
    with transaction.atomic():
        record.enter()
        made = ReleaseSuspension.objects.get(id=suspension).availability_version
    seen = record.as_role(Role.DISPATCH).get(f"/v1/units/{past.unit}/availability").json()["availability_version"]
    assert made == seen


def test_what_was_lifted_or_revoked_in_time_needs_no_note(record: Record, past: Past) -> None:
    suspension = suspend(record, past)
    body = {"id": str(uuid4()), "reason": "A loose mud flap."}
    assert record.as_role(Role.LEAD).post(f"/v1/suspensions/{suspension}/liftings", body).status_code == 201
    other = released_unit(record, "4218", opened_at=NOW - timedelta(days=2))
    suspend(record, other)
    revoked = {"id": str(uuid4()), "reason": "Rebuilt wrong."}
    assert record.as_role(Role.LEAD).post(f"/v1/releases/{other.release}/revocations", revoked).status_code == 201
    after(record)
    assert escalated(record) == []


def test_a_company_is_called_about_its_own_suspensions_only(record: Record, past: Past) -> None:
    suspend(record, past)
    after(record)
    with transaction.atomic():
        record.enter()
        assert {row.company_id for row in Escalation.objects.all()} == {record.company}
    assert isinstance(record.company, UUID)
