"""Small manners of HTTP that a stranger's client tries."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction

from jobs.demo.phone import Phone
from shops.domain.access import Role
from tests.acts import Act
from tests.record import JOSE, Caller, Record, enrolment_code


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["OPTIONS", "POST", "DELETE", "TRACE"])
def test_the_page_of_documents_is_read_and_nothing_else(method: str) -> None:
    assert Caller(None).send(method, "/docs").status_code == 405


@pytest.mark.parametrize("scheme", ["Bearer", "bearer", "BEARER"])
def test_the_scheme_of_a_token_may_be_written_in_any_case(record: Record, scheme: str) -> None:
    token = record.tokens[Role.LEAD]
    assert Caller(None).get("/v1/me", Authorization=f"{scheme} {token}").status_code == 200
    assert Caller(None).get("/v1/me", Authorization=f"{scheme}{token}").status_code == 401


def test_only_the_owner_of_a_phone_or_a_lead_says_that_it_has_sent_everything(record: Record) -> None:
    """Otherwise whoever does not like what a verifier's phone still holds would end the wait for it."""
    job = record.open_job()
    lead = record.as_role(Role.LEAD)
    claim = {"id": str(uuid4()), "key": record.phones["OK"].key}
    assert lead.post(f"/v1/jobs/{job}/claims", claim).status_code == 201
    end, path = {"id": str(uuid4()), "last_sequence": 0}, f"/v1/claims/{claim['id']}/ends"
    for who, status in (("RM", 403), ("OK", 201)):
        assert Caller(token_of(record, who)).post(path, end).status_code == status, who
    blockers = lead.get(f"/v1/jobs/{job}/gate").json()["blockers"]
    assert "device_holds_claim" not in {blocker["code"] for blocker in blockers}


def test_a_lead_who_does_not_wait_for_a_phone_says_why_and_it_is_shown(record: Record) -> None:
    job = record.open_job()
    lead = record.as_role(Role.LEAD)
    claim = {"id": str(uuid4()), "key": record.phones["OK"].key}
    assert lead.post(f"/v1/jobs/{job}/claims", claim).status_code == 201
    end: dict[str, Any] = {"id": str(uuid4()), "last_sequence": 0}
    path, shown = f"/v1/claims/{claim['id']}/ends", f"/v1/jobs/{job}/claims"
    assert lead.get(shown).json()["items"][0]["ended_at"] is None
    unsaid = lead.post(path, end)
    assert (unsaid.status_code, unsaid.json()["errors"][0]["pointer"]) == (400, "/reason")
    end["reason"] = "The phone lies in the locker and held nothing of this job."
    assert [lead.post(path, end).status_code for _ in range(2)] == [201, 200]
    assert lead.post(path, {**end, "reason": "Another."}).status_code == 409
    found = record.as_role(Role.AUDITOR).get(shown).json()["items"][0]
    assert (found["initials"], found["ended_by"], found["reason"]) == ("OK", "lead: lead", end["reason"])


@pytest.mark.parametrize("more", [{}, {"step": "release"}, {"chain_head": None}])
def test_a_release_that_is_sent_as_an_entry_is_told_where_it_belongs(record: Record, more: dict[str, Any]) -> None:
    job = record.open_job()
    signed = record.sign(job, Act("JD", "release", {"chain_head": "ab" * 32, "statement": "Released.", **more}))
    errors = record.as_role(Role.LEAD).post("/v1/entries", signed, JOSE).json()["errors"]
    assert [(one["pointer"], one["cure"]) for one in errors] == [("/kind", "Send it to /v1/releases.")]
    step = record.sign(job, Act("JD", "step", {"stepp": "identify"}))
    errors = record.as_role(Role.LEAD).post("/v1/releases", step, JOSE).json()["errors"]
    assert [(one["pointer"], one["cure"]) for one in errors] == [("/kind", "Send other entries to /v1/entries.")]


def test_a_code_that_was_used_is_called_used(record: Record) -> None:
    with transaction.atomic():
        record.enter()
        code = enrolment_code(record, "RM", datetime.now(UTC))
    asked = [_enrolment(Phone.with_ed25519("RM"), code) for _ in range(2)]
    assert Caller(None).post("/v1/device_keys", asked[0]).status_code == 201
    refused = Caller(None).post("/v1/device_keys", asked[1])
    assert (refused.status_code, refused.json()["detail"]) == (409, "This code was used already.")


def _enrolment(phone: Phone, code: str) -> dict[str, Any]:
    proof = phone.proof(code, "RM's phone")
    return {
        "id": str(uuid4()),
        "code": code,
        "jwk": dict(phone.jwk.canonical),
        "proof": proof,
        "device_name": "RM's phone",
    }


def token_of(record: Record, who: str) -> str:
    """A technician's token of one person."""
    body = {
        "id": str(uuid4()),
        "label": who,
        "role": "technician",
        "technician": str(record.people[who]),
        "expires_at": (datetime.now(UTC) + timedelta(days=1)).isoformat(),
    }
    answer = record.as_role(Role.ADMINISTRATOR).post("/v1/access_tokens", body)
    assert answer.status_code == 201, answer.content
    return str(answer.json()["token"])
