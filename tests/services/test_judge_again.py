"""Facts that are taken back from an earlier time take the work that rests on them, and the releases, with them."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest

from jobs.services.judge_again import judge_again
from shops.domain.access import Role
from tests.acts import Act
from tests.record import Record
from tests.services.test_follow_up import availability, codes, lift, retorque

LONG_AGO = timedelta(days=30)


@pytest.fixture
def released(record: Record) -> Record:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    return record


def look_again(record: Record) -> None:
    assert judge_again(company=record.company, now=datetime.now(UTC)) is False
    record.enter()


def withdraw(record: Record, who: str) -> None:
    admin = record.as_role(Role.ADMINISTRATOR)
    for grant in admin.get(f"/v1/technicians/{record.people[who]}/qualifications").json()["items"]:
        taken(admin, f"/v1/qualifications/{grant['id']}/withdrawals", "withdrawn_from")


def revoke(record: Record, who: str) -> None:
    path = f"/v1/device_keys/{record.phones[who].key}/revocations"
    taken(record.as_role(Role.ADMINISTRATOR), path, "revoked_from")


def take_away(record: Record, code: str) -> None:
    admin = record.as_role(Role.ADMINISTRATOR)
    found = next(one for one in admin.get("/v1/instruments?limit=200").json()["items"] if one["code"] == code)
    taken(admin, f"/v1/instruments/{found['id']}/withdrawals", "withdrawn_at")


def taken(admin: Any, path: str, since: str) -> None:
    body = {"id": str(uuid4()), since: (datetime.now(UTC) - LONG_AGO).isoformat(), "reason": "It was never right."}
    answer = admin.post(path, body)
    assert answer.status_code == 201, answer.content


@pytest.mark.parametrize(
    ("take", "what"), [(withdraw, "OK"), (revoke, "OK"), (take_away, "TK-03")], ids=["test", "phone", "kingpin"]
)
def test_what_is_taken_back_from_before_the_work_suspends_the_release(released: Record, take: Any, what: str) -> None:
    assert codes(released) == ["follow_up_due"]
    take(released, what)
    look_again(released)
    assert codes(released) == ["release_suspended"]
    lift(released)
    take_away(released, "FG-11")  # more facts, which the release does not stand or fall by any more
    look_again(released)
    assert codes(released) == ["follow_up_due"]


def test_an_entry_that_comes_first_suspends_the_release_as_well(released: Record) -> None:
    withdraw(released, "OK")
    job = released.as_role(Role.LEAD).get("/v1/jobs").json()["items"][0]["id"]
    released.log(UUID(job), Act("RM", "pause", {"state_note": "Nothing done."}))
    assert codes(released) == ["release_suspended"]


def test_what_is_taken_back_takes_a_follow_up_with_it(released: Record) -> None:
    released.clock += timedelta(minutes=1)
    between = released.clock
    follow_up = released.open_job(purpose="follow_up")
    released.log(follow_up, retorque("12"))
    assert availability(released)["state"] == "available"
    body = {"id": str(uuid4()), "revoked_from": between.isoformat(), "reason": "Lost in the yard."}
    path = f"/v1/device_keys/{released.phones['RM'].key}/revocations"
    assert released.as_role(Role.ADMINISTRATOR).post(path, body).status_code == 201
    look_again(released)
    assert codes(released) == ["release_suspended"]


def test_a_phone_that_is_lost_after_the_work_changes_nothing(released: Record) -> None:
    body = {"id": str(uuid4()), "revoked_from": datetime.now(UTC).isoformat(), "reason": "Lost in the yard."}
    path = f"/v1/device_keys/{released.phones['OK'].key}/revocations"
    assert released.as_role(Role.ADMINISTRATOR).post(path, body).status_code == 201
    look_again(released)
    assert codes(released) == ["follow_up_due"]
