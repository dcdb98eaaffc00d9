"""Small manners of HTTP that a stranger's client tries."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from shops.domain.access import Role
from tests.record import Caller, Record


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
