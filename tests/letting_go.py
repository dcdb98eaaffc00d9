"""What tests of retention share: people, a released job with a photo, two years that pass, and the worker's round."""

import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from jobs.services.remove_evidence import remove_evidence
from shops.api import view
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from shops.services.issue_access_token import TokenRequest, issue_access_token
from tests.acts import PR_11
from tests.api.problems import refused
from tests.record import Caller, Record
from tests.uploading import DIGEST, HEAP, named_on, send

WITH_PHOTO = tuple(
    replace(act, body={**act.body, "evidence": [DIGEST]}) if "evidence" in act.body else act for act in PR_11
)
REASON = "The unit was scrapped."


class Later(datetime):
    """Stands in for `datetime` where the server asks for the time: two years on."""

    @classmethod
    def now(cls, tz: Any = None) -> datetime:  # type: ignore[override]
        return datetime.now(tz) + timedelta(days=730)


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Lets two years pass for the server."""
    return lambda: monkeypatch.setattr(view, "datetime", Later)


def person(record: Record, role: Role, label: str, technician: uuid.UUID | None = None) -> Caller:
    """A token of somebody, good for some years."""
    with transaction.atomic():
        record.enter()
        expires = datetime.now(UTC) + timedelta(days=2000)
        request = TokenRequest(uuid.uuid4(), label, role, expires, technician, TokenScope())
        issued = issue_access_token(
            company=record.company, request=request, issued_by="administrator: BW", now=record.set_up_at
        )
    return Caller(issued.text)


def released_job(record: Record) -> uuid.UUID:
    job = named_on(record, *WITH_PHOTO)
    send(record.as_role(Role.TECHNICIAN), job, HEAP)
    record.release(job)
    return job


def body(**more: Any) -> dict[str, Any]:
    return {"id": str(uuid.uuid4()), "reason": REASON, **more}


def propose(caller: Caller, job: uuid.UUID, *digests: str, **more: Any) -> Any:
    return caller.post("/v1/evidence_deletions", body(job=str(job), digests=list(digests or [DIGEST]), **more))


def approve(caller: Caller, deletion: str) -> Any:
    return caller.post(f"/v1/evidence_deletions/{deletion}/approvals", {"id": str(uuid.uuid4())})


def codes(answer: Any) -> list[str]:
    return [found["code"] for found in refused(answer, 409, "may-not-go")["obstacles"]]


def work(record: Record) -> None:
    """A round of the worker's duty."""
    assert remove_evidence(company=record.company, now=datetime.now(UTC)) is False


@pytest.fixture
def quality(record: Record) -> Caller:
    return person(record, Role.QUALITY, "PI")


@pytest.fixture
def administrator(record: Record) -> Caller:
    return person(record, Role.ADMINISTRATOR, "NN")
