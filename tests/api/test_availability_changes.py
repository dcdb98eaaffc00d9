"""Dispatch's change feed: nothing is missed, nothing is another's, and time alone is told too."""

from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

import pytest
from cloudevents.core.v1.event import CloudEvent
from django.db import connection, transaction

from jobs.services.duties import DUTIES
from jobs.services.sequence_log import sequence_log
from jobs.services.tell_due_times import tell_due_times
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from tests.api.problems import pointers, refused
from tests.past import released_unit
from tests.record import Caller, Record, build_record, issue_token

NOW = datetime.now(UTC)
DAY = timedelta(days=1)


def feed(record: Record, after: int | None = None, **query: Any) -> dict[str, Any]:
    """The feed as dispatch reads it, once the worker has placed what is queued."""
    sequence_log(company=record.company)
    if after is not None:
        query["after"] = after
    answer = record.as_role(Role.DISPATCH).get(f"/v1/availability_changes?{urlencode(query)}")
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def test_each_change_is_an_event_with_the_availability_of_now(record: Record) -> None:
    unit = record.units["PR-11"]
    start = feed(record)["next_after"]
    job = record.open_job()
    opened = feed(record, start)
    assert [event["subject"] for event in opened["items"]] == [str(unit)]
    assert opened["items"][0]["data"]["reasons"][0]["code"] == "job_open"
    record.rebuild(job)
    record.release(job)
    (released,) = feed(record, opened["next_after"])["items"]
    assert (released["data"]["state"], released["data"]["release_version"]) == ("limited", 1)
    again = feed(record, start)["items"]
    assert [event["id"] for event in again] == [opened["items"][0]["id"], released["id"]]
    assert {event["data"]["state"] for event in again} == {"limited"}


def test_whoever_reads_on_from_his_last_position_misses_nothing(record: Record) -> None:
    for number in ("4112", "4120", "4133", "4140"):
        released_unit(record, number, opened_at=NOW - 3 * DAY)
    whole = feed(record, limit=200)
    one_by_one: list[dict[str, Any]] = []
    after = -1
    while items := (page := feed(record, after, limit=1))["items"]:
        one_by_one += items
        after = page["next_after"]
    assert [event["id"] for event in one_by_one] == [event["id"] for event in whole["items"]]
    positions = [event["sequence"] for event in one_by_one]
    assert positions == sorted(set(positions))
    assert feed(record, after) == {"items": [], "next_after": after}


def test_an_event_is_a_cloud_event(record: Record) -> None:
    """CloudEvents 1.0: the project's own library accepts the attributes, extensions included."""
    event = feed(record)["items"][0]
    data = event.pop("data")
    attributes = {**event, "time": datetime.fromisoformat(event["time"])}
    read = CloudEvent(attributes=attributes, data=data)
    assert (read.get_subject(), read.get_extension("sequence")) == (data["unit"], event["sequence"])


def test_a_version_that_rises_in_psql_is_told_too(record: Record) -> None:
    unit = record.units["PR-11"]
    start = feed(record)["next_after"]
    with transaction.atomic(), connection.cursor() as cursor:
        record.enter()
        cursor.execute("UPDATE units SET availability_version = availability_version + 1 WHERE id = %s", [unit])
        cursor.execute("UPDATE units SET number = number WHERE id = %s", [unit])
    assert [event["subject"] for event in feed(record, start)["items"]] == [str(unit)]


def test_a_change_that_is_rolled_back_is_never_told(record: Record) -> None:
    start = feed(record)["next_after"]
    with transaction.atomic():
        record.enter()
        with connection.cursor() as cursor:
            cursor.execute("UPDATE units SET availability_version = availability_version + 1")
        transaction.set_rollback(True)
    assert feed(record, start)["items"] == []


def test_time_alone_is_told_once(record: Record) -> None:
    assert tell_due_times in [duty.run for duty in DUTIES]
    due = datetime.now(UTC) + DAY
    late = released_unit(record, "4120", opened_at=NOW - 9 * DAY, follow_up_due_at=due)
    released_unit(record, "4112", opened_at=NOW - 9 * DAY, follow_up_due_at=due + 9 * DAY)
    start = feed(record)["next_after"]
    for look in range(4):
        tell_due_times(company=record.company, now=due + look * timedelta(seconds=30))
    assert [event["subject"] for event in feed(record, start)["items"]] == [str(late.unit)]


def test_what_was_done_in_time_does_not_fall_due(record: Record) -> None:
    job = record.open_job()
    record.rebuild(job)
    release = record.release(job)
    due = datetime.fromisoformat(release["follow_up_due_at"])
    start = feed(record)["next_after"]
    tell_due_times(company=record.company, now=due - timedelta(seconds=1))
    assert feed(record, start)["items"] == []


def test_a_carriers_token_hears_of_its_units_only(record: Record) -> None:
    with transaction.atomic():
        record.enter()
        token = issue_token(record, Role.DISPATCH, TokenScope(carriers=frozenset({uuid4()})))
    sequence_log(company=record.company)
    answer = Caller(token).get("/v1/availability_changes")
    assert (answer.status_code, answer.json()["items"]) == (200, [])


def test_another_company_hears_nothing(record: Record) -> None:
    stranger = build_record(procedures=())
    record.open_job()
    sequence_log(company=record.company)
    own = {event["subject"] for event in feed(stranger)["items"]}
    assert str(record.units["PR-11"]) not in own


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({"after": "soon"}, "/after"),
        ({"after": "-2"}, "/after"),
        ({"after": str(2**63)}, "/after"),
        ({"limit": "0"}, "/limit"),
        ({"since": "4"}, "/since"),
    ],
)
def test_what_is_no_position_is_refused(record: Record, query: dict[str, str], pointer: str) -> None:
    answer = record.as_role(Role.DISPATCH).get(f"/v1/availability_changes?{urlencode(query)}")
    assert pointers(refused(answer, 400, "bad-input")) == [pointer]
