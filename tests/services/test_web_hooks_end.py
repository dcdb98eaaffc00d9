"""A web hook tells what a token could read, and ends with that token: visibly, and so that a successor misses nothing."""

from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest

from jobs.services import end_web_hook
from shops.domain.access import Role
from tests.record import Caller, Record
from tests.services.test_deliver_web_hooks import DAY, Receiver, deliver, read, receiver, register

__all__ = ["receiver"]  # a fixture


def token_of(record: Record, life: timedelta = DAY) -> tuple[Caller, str]:
    """A dispatch token that an administrator issues, and its id."""
    body = {"id": str(uuid4()), "label": "the board", "role": "dispatch"}
    body["expires_at"] = (datetime.now(UTC) + life).isoformat()
    answer = record.as_role(Role.ADMINISTRATOR).post("/v1/access_tokens", body)
    assert answer.status_code == 201, answer.content
    return Caller(answer.json()["token"]), body["id"]


def test_a_hook_ends_when_the_token_that_registered_it_is_revoked(record: Record, receiver: Receiver) -> None:
    caller, token = token_of(record)
    hook = register(record, receiver.address, caller)
    kept = register(record, receiver.address)
    record.open_job()
    revocation = {"id": str(uuid4()), "reason": "The board's disk was sold."}
    path = f"/v1/access_tokens/{token}/revocations"
    assert record.as_role(Role.ADMINISTRATOR).post(path, revocation).status_code == 201
    deliver(record)
    deliver(record)
    assert len(receiver.got) == 1  # to the other hook
    ended = read(record, hook)
    assert (ended["ending_reason"], ended["next_try_at"]) == ("The token that registered it was revoked.", None)
    assert datetime.fromisoformat(ended["ended_at"]) <= datetime.now(UTC)
    assert read(record, kept)["ended_at"] is None


def test_a_hook_says_until_when_it_stands_and_its_successor_goes_on_where_it_ended(
    record: Record, receiver: Receiver
) -> None:
    caller, _ = token_of(record)
    hook = register(record, receiver.address, caller)
    until = datetime.fromisoformat(hook["stands_until"])
    assert timedelta(hours=23) < until - datetime.now(UTC) <= DAY
    record.open_job()
    deliver(record, until - datetime.now(UTC) + timedelta(seconds=1))
    assert receiver.got == []
    ended = read(record, hook)
    assert ended["ending_reason"] == "The token that registered it has expired."
    register(record, receiver.address, after=ended["position"])
    deliver(record)
    assert len(receiver.got) == 1


def test_a_hook_that_was_ended_in_the_same_moment_stays_ended_as_it_was(
    record: Record, receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    hook = register(record, receiver.address)
    ending = {"id": str(uuid4()), "reason": "The board has moved"}
    record.as_role(Role.DISPATCH).post(f"/v1/web_hooks/{hook['id']}/endings", ending)
    monkeypatch.setattr(end_web_hook, "bereft_hooks", lambda _company, _now: {UUID(hook["id"]): True})
    deliver(record)
    assert read(record, hook)["ending_reason"] == "The board has moved"
