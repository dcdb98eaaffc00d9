"""The duty to who waits for events: send each hook what has changed, in order, at least once, each event signed.

1. A hook is claimed by putting off its next try; whoever claims it sends. A sender that dies has only put it off.
2. An event counts as delivered with an answer of 2xx; then the hook's position moves. An answer that is lost sends
   the event again, under the same id.
3. What fails is tried again, later and later. 410 Gone ends the hook.
4. A hook tells what the token that registered it could read; once that is revoked or has expired, the hook ends, and
   says so.
"""

import ssl
import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from http import HTTPStatus
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from typing import Any, Final
from urllib.parse import urlsplit
from uuid import UUID

import orjson
from django.conf import settings
from django.db import transaction

from jobs.domain.web_hook import WebHookError, check_address, signed_headers, wait_after
from jobs.models.web_hook import WebHookDelivery
from jobs.queries.availability_changes import Event, events_after
from jobs.queries.web_hooks import DueHook, due_hooks
from jobs.services.end_web_hook import end_bereft_web_hooks, end_web_hook
from jobs.services.web_hook_key import web_hook_secret
from shops.domain.access import Grant, Role
from shops.queries.access import enter_company
from shops.services.new_id import new_id

CLAIM: Final = timedelta(minutes=2)
MOST_AT_ONCE: Final = 20
_SECONDS_A_TURN: Final = 20.0
_SECONDS_AN_ANSWER: Final = 10.0
_LONGEST_FAILURE: Final = 300
_MEDIA: Final = "application/cloudevents+json"


@dataclass(frozen=True, slots=True)
class Failure:
    """Why an event was not taken, in words; and whether its receiver wants no more of them."""

    what: str
    is_gone: bool = False


def deliver_web_hooks(*, company: UUID, now: datetime) -> bool:
    """One turn for each hook that has news and whose time has come; True while more waits."""
    end_bereft_web_hooks(company=company, now=now)
    more = False
    for hook, events in _claimed(company, now):
        taken = _turn(company, hook, events, now)
        more |= 0 < taken < len(events) or taken == MOST_AT_ONCE
    return more


def _turn(company: UUID, hook: DueHook, events: list[Event], now: datetime) -> int:
    """Send until one fails or the turn is over; how many were taken, 0 after a failure."""
    secret, started = web_hook_secret(hook.id), time.monotonic()
    for at, event in enumerate(events):
        failure = _send(hook, secret, event, now)
        if failure is not None:
            _failed(company, hook, failure, 1 if at else hook.failures + 1, now)
            return 0
        over = time.monotonic() - started > _SECONDS_A_TURN
        _delivered(company, hook, event, now, done=over or event is events[-1])
        if over:
            return at + 1
    return len(events)


@transaction.atomic
def _claimed(company: UUID, now: datetime) -> list[tuple[DueHook, list[Event]]]:
    """The hooks that have something to tell, claimed, with it."""
    enter_company(company)
    claimed = []
    for hook in due_hooks(company, now):
        reach = Grant(hook.id, company, "web hook", Role.DISPATCH, carriers=hook.carriers)
        events = events_after(reach, hook.position, MOST_AT_ONCE, now)
        free = WebHookDelivery.objects.filter(id=hook.id, next_try_at__lte=now)
        if events and free.update(next_try_at=now + CLAIM):
            claimed.append((hook, events))
    return claimed


def _send(hook: DueHook, secret: bytes, event: Event, now: datetime) -> Failure | None:
    """Send one event; None when it was taken."""
    body = orjson.dumps(event.document)
    headers = {"content-type": _MEDIA, "user-agent": "rebuild-record"}
    headers |= signed_headers(secret, str(event.id), now, body)
    try:
        check_address(hook.address, settings.WEB_HOOK_HOSTS)
        status = _post(hook.address, body, headers)
    except WebHookError as error:
        return Failure(f"{error.message} {error.cure}")
    except (OSError, HTTPException, ValueError) as error:
        return Failure(f"{type(error).__name__}: {error}")
    if HTTPStatus.OK <= status < HTTPStatus.MULTIPLE_CHOICES:
        return None
    return Failure(f"It answered {status}.", is_gone=status == HTTPStatus.GONE)


def _post(address: str, body: bytes, headers: Mapping[str, str]) -> int:
    """The status of the answer; a redirection is not followed, and the answer's body is not read."""
    parts = urlsplit(address)
    host = parts.hostname or ""
    connection: HTTPConnection
    if parts.scheme == "https":
        context = ssl.create_default_context()
        connection = HTTPSConnection(host, parts.port, timeout=_SECONDS_AN_ANSWER, context=context)
    else:
        connection = HTTPConnection(host, parts.port, timeout=_SECONDS_AN_ANSWER)
    try:
        connection.request("POST", f"{parts.path or '/'}{'?' if parts.query else ''}{parts.query}", body, dict(headers))
        return connection.getresponse().status
    finally:
        connection.close()


@transaction.atomic
def _delivered(company: UUID, hook: DueHook, event: Event, now: datetime, *, done: bool) -> None:
    _move(
        company,
        hook,
        position=event.position,
        delivered_at=now,
        failures=0,
        failing_since=None,
        last_failure=None,
        next_try_at=now if done else now + CLAIM,
    )


@transaction.atomic
def _failed(company: UUID, hook: DueHook, failure: Failure, failures: int, now: datetime) -> None:
    told = {
        "failures": failures,
        "last_failure": failure.what[:_LONGEST_FAILURE],
        "next_try_at": now + wait_after(failures),
    }
    if failures == 1:
        told["failing_since"] = now
    _move(company, hook, **told)
    if failure.is_gone:
        reason = "The receiver answered 410 Gone."
        end_web_hook(
            company=company, identifier=new_id(now), hook=hook.id, reason=reason, recorded_by="the record", now=now
        )


def _move(company: UUID, hook: DueHook, **columns: Any) -> None:
    enter_company(company)
    WebHookDelivery.objects.filter(id=hook.id).update(**columns)
