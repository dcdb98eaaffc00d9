"""Web hooks end to end: a receiver of its own on the loopback, the duty that sends, and what happens when it fails."""

import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction
from standardwebhooks.webhooks import Webhook

from jobs.services import deliver_web_hooks as delivering
from jobs.services.deliver_web_hooks import CLAIM, MOST_AT_ONCE, deliver_web_hooks
from jobs.services.duties import DUTIES, OUTWARD_DUTIES
from jobs.services.sequence_log import sequence_log
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from tests.api.problems import pointers, refused
from tests.past import released_unit
from tests.record import Caller, Record, build_record, issue_token

NOW = datetime.now(UTC)
DAY = timedelta(days=1)


@dataclass
class Receiver:
    """What dispatch's own server was sent; it answers `status`."""

    address: str = ""
    status: int = 204
    got: list[tuple[dict[str, str], bytes]] = field(default_factory=list)

    def subjects(self) -> list[str]:
        return [json.loads(body)["subject"] for _, body in self.got]

    def ids(self) -> list[str]:
        return [headers["webhook-id"] for headers, _ in self.got]


@pytest.fixture
def receiver(settings: Any, tmp_path: Path) -> Iterator[Receiver]:
    settings.WEB_HOOK_HOSTS = frozenset({"127.0.0.1"})
    settings.WEB_HOOK_KEY_FILE = tmp_path / "web-hook-key"
    found = Receiver()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"]))
            found.got.append(({name.lower(): value for name, value in self.headers.items()}, body))
            self.send_response(found.status)
            self.send_header("location", "http://127.0.0.1:1/elsewhere")
            self.end_headers()

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    found.address = f"http://127.0.0.1:{server.server_port}/rebuild_events?board=2"
    yield found
    server.shutdown()
    thread.join()
    server.server_close()


def register(record: Record, address: str, caller: Caller | None = None, **more: Any) -> dict[str, Any]:
    sequence_log(company=record.company)
    body = {"id": str(uuid4()), "address": address, "label": "the dispatch board", **more}
    answer = (caller or record.as_role(Role.DISPATCH)).post("/v1/web_hooks", body)
    assert answer.status_code == 201, answer.content
    found: dict[str, Any] = answer.json()
    return found


def deliver(record: Record, wait: timedelta = timedelta(0)) -> bool:
    sequence_log(company=record.company)
    return deliver_web_hooks(company=record.company, now=datetime.now(UTC) + wait)


def read(record: Record, hook: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = record.as_role(Role.DISPATCH).get(f"/v1/web_hooks/{hook['id']}").json()
    return found


def test_the_worker_has_this_duty_apart_from_those_that_wait_for_nobody() -> None:
    assert deliver_web_hooks in [duty.run for duty in OUTWARD_DUTIES]
    assert deliver_web_hooks not in [duty.run for duty in DUTIES]


def test_a_change_is_posted_signed_and_once(record: Record, receiver: Receiver) -> None:
    hook = register(record, receiver.address)
    record.open_job()
    deliver(record)
    deliver(record)
    ((headers, body),) = receiver.got
    assert headers["content-type"] == "application/cloudevents+json"
    event = Webhook(hook["secret"]).verify(body, headers)
    assert (event["id"], event["subject"]) == (headers["webhook-id"], str(record.units["PR-11"]))
    assert event["data"]["reasons"][0]["code"] == "job_open"
    after = read(record, hook)
    assert (after["position"], after["failures"]) == (int(event["sequence"]), 0)
    assert after["delivered_at"] is not None
    assert "secret" not in after


def test_what_was_before_is_sent_only_where_it_is_asked_for(record: Record, receiver: Receiver) -> None:
    register(record, receiver.address)
    deliver(record)
    assert receiver.got == []
    register(record, receiver.address, after=-1)
    deliver(record)
    feed = record.as_role(Role.DISPATCH).get("/v1/availability_changes?limit=200").json()["items"]
    assert receiver.ids() == [event["id"] for event in feed]


def test_more_than_a_turn_takes_goes_on_in_the_next(record: Record, receiver: Receiver) -> None:
    register(record, receiver.address)
    unit = record.units["PR-11"]
    with transaction.atomic(), connection.cursor() as cursor:
        record.enter()
        for _ in range(MOST_AT_ONCE + 2):
            cursor.execute("UPDATE units SET availability_version = availability_version + 1 WHERE id = %s", [unit])
    assert deliver(record) is True
    assert len(receiver.got) == MOST_AT_ONCE
    assert deliver(record) is False
    assert len(set(receiver.ids())) == len(receiver.ids()) == MOST_AT_ONCE + 2


def test_a_long_turn_ends_and_goes_on_at_once(
    record: Record, receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(delivering, "_SECONDS_A_TURN", -1.0)
    register(record, receiver.address)
    for number in ("4112", "4120"):
        released_unit(record, number, opened_at=NOW - 3 * DAY)
    assert deliver(record) is True
    assert len(receiver.got) == 1
    deliver(record)
    assert len(receiver.got) == 2


@pytest.mark.parametrize("status", [400, 404, 500, 503, 301, 308])
def test_what_is_not_taken_is_sent_again_later_under_the_same_id(
    record: Record, receiver: Receiver, status: int
) -> None:
    hook = register(record, receiver.address)
    record.open_job()
    receiver.status = status
    deliver(record)
    failing = read(record, hook)
    assert (failing["failures"], failing["last_failure"]) == (1, f"It answered {status}.")
    deliver(record, timedelta(seconds=1))
    assert len(receiver.got) == 1
    deliver(record, timedelta(seconds=6))
    again = read(record, hook)
    assert (again["failures"], again["failing_since"]) == (2, failing["failing_since"])
    receiver.status = 200
    deliver(record, timedelta(minutes=2))
    assert len(set(receiver.ids())) == 1
    assert len(receiver.got) == 3
    assert (read(record, hook)["failures"], read(record, hook)["failing_since"]) == (0, None)


def test_a_receiver_that_is_not_there_harms_no_other(record: Record, receiver: Receiver) -> None:
    gone = register(record, "http://127.0.0.1:1/")
    register(record, receiver.address)
    record.open_job()
    deliver(record)
    assert len(receiver.got) == 1
    assert "refused" in read(record, gone)["last_failure"]


def test_gone_ends_the_hook(record: Record, receiver: Receiver) -> None:
    hook = register(record, receiver.address)
    record.open_job()
    receiver.status = 410
    deliver(record)
    ended = read(record, hook)
    assert (ended["ending_reason"], ended["next_try_at"]) == ("The receiver answered 410 Gone.", None)
    deliver(record, DAY)
    assert len(receiver.got) == 1


def test_an_ended_hook_is_silent(record: Record, receiver: Receiver) -> None:
    hook = register(record, receiver.address)
    body = {"id": str(uuid4()), "reason": "The board has moved"}
    dispatch = record.as_role(Role.DISPATCH)
    assert dispatch.post(f"/v1/web_hooks/{hook['id']}/endings", body).status_code == 201
    assert dispatch.post(f"/v1/web_hooks/{hook['id']}/endings", body).status_code == 200
    other = dispatch.post(f"/v1/web_hooks/{hook['id']}/endings", body | {"id": str(uuid4())})
    assert other.status_code == 409
    record.open_job()
    deliver(record)
    assert receiver.got == []


def test_two_workers_do_not_send_the_same_at_once(
    record: Record, receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    register(record, receiver.address)
    record.open_job()
    sequence_log(company=record.company)
    send = delivering._send

    def meanwhile(*args: Any) -> delivering.Failure | None:
        assert delivering._claimed(record.company, datetime.now(UTC)) == []
        return send(*args)

    monkeypatch.setattr(delivering, "_send", meanwhile)
    deliver(record)
    assert len(receiver.got) == 1


def test_a_worker_that_died_while_it_sent_has_only_put_it_off(record: Record, receiver: Receiver) -> None:
    register(record, receiver.address)
    record.open_job()
    sequence_log(company=record.company)
    assert delivering._claimed(record.company, datetime.now(UTC))
    deliver(record)
    assert receiver.got == []
    deliver(record, CLAIM + timedelta(seconds=1))
    assert len(receiver.got) == 1


def test_a_host_that_is_no_longer_allowed_is_not_called(record: Record, receiver: Receiver, settings: Any) -> None:
    hook = register(record, receiver.address)
    record.open_job()
    settings.WEB_HOOK_HOSTS = frozenset()
    deliver(record)
    assert receiver.got == []
    assert "REBUILD_WEB_HOOK_HOSTS" in read(record, hook)["last_failure"]


def test_without_allowed_hosts_no_hook_is_registered(record: Record, settings: Any) -> None:
    settings.WEB_HOOK_HOSTS = frozenset()
    body = {"id": str(uuid4()), "address": "https://dispatch.tarnvalley.example/", "label": "the board"}
    answer = record.as_role(Role.DISPATCH).post("/v1/web_hooks", body)
    assert pointers(refused(answer, 400, "bad-input")) == ["/address"]


def test_a_secret_is_shown_once(record: Record, receiver: Receiver) -> None:
    body = {"id": str(uuid4()), "address": receiver.address, "label": "the board"}
    dispatch = record.as_role(Role.DISPATCH)
    first, again = dispatch.post("/v1/web_hooks", body), dispatch.post("/v1/web_hooks", body)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["secret"].startswith("whsec_")
    assert again.json()["secret"] is None
    assert dispatch.post("/v1/web_hooks", body | {"label": "another"}).status_code == 409


def test_a_carriers_hook_hears_of_its_units_only_and_is_seen_by_nobody_narrower(
    record: Record, receiver: Receiver
) -> None:
    with transaction.atomic():
        record.enter()
        narrow = Caller(issue_token(record, Role.DISPATCH, TokenScope(carriers=frozenset({uuid4()}))))
    hook = register(record, receiver.address, narrow)
    wide = register(record, "http://127.0.0.1:1/")
    record.open_job()
    deliver(record)
    assert receiver.got == []
    seen = [one["id"] for one in narrow.get("/v1/web_hooks").json()["items"]]
    assert seen == [hook["id"]]
    assert narrow.get(f"/v1/web_hooks/{wide['id']}").status_code == 404


def test_another_company_sees_and_ends_none(record: Record, receiver: Receiver) -> None:
    hook = register(record, receiver.address)
    stranger = build_record(procedures=()).as_role(Role.DISPATCH)
    assert stranger.get("/v1/web_hooks").json()["items"] == []
    body = {"id": str(uuid4()), "reason": "Mine now"}
    assert stranger.post(f"/v1/web_hooks/{hook['id']}/endings", body).status_code == 404
