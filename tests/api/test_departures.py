"""Somebody leaves: one call ends keys, tokens and codes; the past stays; who comes back is enrolled anew."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import transaction

from shops.domain.access import Role
from tests.acts import PR_11
from tests.api.problems import refused
from tests.api.test_device_chains import chains, claim, second_phone
from tests.record import JOSE, Caller, Record, enrolment_code


def leave(record: Record, who: str, left_at: datetime | None = None, **changed: Any) -> Any:
    at = left_at or datetime.now(UTC)
    body = {"id": str(uuid.uuid4()), "left_at": at.isoformat(), "reason": "Moved away", **changed}
    return record.as_role(Role.LEAD).post(f"/v1/technicians/{record.people[who]}/departures", body)


def test_all_keys_and_tokens_end_in_one_call(record: Record) -> None:
    tokens = [Caller(second_phone(record, "RM")) for _ in range(2)]
    answer = leave(record, "RM")
    assert answer.status_code == 201
    ended = answer.json()
    assert len(ended["keys"]) == 3
    assert ended["tokens"] == 3
    assert {token.get("/v1/me").status_code for token in tokens} == {401}
    keys = record.as_role(Role.LEAD).get(f"/v1/device_keys?technician={record.people['RM']}").json()["items"]
    assert {key["revocation_reason"] for key in keys} == {"left: Moved away"}


def test_what_was_done_before_keeps_its_credit_and_what_is_signed_after_is_refused(record: Record) -> None:
    job = record.open_job()
    before = record.log(job, PR_11[0])
    record.clock = datetime.now(UTC) - timedelta(minutes=30)
    assert leave(record, "RM", record.clock).status_code == 201
    answer = record.as_role(Role.TECHNICIAN).post("/v1/entries", record.sign(job, PR_11[1]), JOSE)
    refused(answer, 422, "key-revoked")
    entries = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/entries").json()["items"]
    assert [(one["entry"], one["credit"]) for one in entries] == [(before["entry"], True)]


def test_claims_of_who_left_hold_no_gate_and_what_the_phone_may_hold_is_listed(record: Record) -> None:
    job = record.open_job()
    claim(record, job, "RM")

    def waits() -> bool:
        gate = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()
        return "device_holds_claim" in {blocker["code"] for blocker in gate["blockers"]}

    assert waits()
    leave(record, "RM")
    assert not waits()
    assert [(one["job"], one["lost"]) for one in chains(record)["RM"]["unsent"]] == [(str(job), True)]


def test_a_code_of_before_enrols_nothing_and_one_of_after_enrols_anew(record: Record) -> None:
    from jobs.demo.phone import Phone

    with transaction.atomic():
        record.enter()
        old = enrolment_code(record, "RM", datetime.now(UTC))
    leave(record, "RM")
    phone = Phone.with_ed25519("RM")
    body = {"id": str(uuid.uuid4()), "jwk": dict(phone.jwk.canonical), "device_name": "new", "code": old}
    refused(Caller(None).post("/v1/device_keys", {**body, "proof": phone.proof(old, "new")}), 422, "enrolment-refused")
    assert Caller(second_phone(record, "RM")).get("/v1/me").status_code == 200


def test_the_same_departure_again_is_answered_the_same_and_ends_nothing_new(record: Record) -> None:
    identifier, at = str(uuid.uuid4()), datetime.now(UTC)
    first = leave(record, "RM", at, id=identifier)
    again = Caller(second_phone(record, "RM"))
    second = leave(record, "RM", at, id=identifier)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert again.get("/v1/me").status_code == 200


def test_nobody_leaves_before_it_is_so_nor_from_another_company(record: Record) -> None:
    refused(leave(record, "RM", datetime.now(UTC) + timedelta(days=1)), 400, "bad-input")
    body = {"id": str(uuid.uuid4()), "left_at": datetime.now(UTC).isoformat(), "reason": "x"}
    refused(record.as_role(Role.LEAD).post(f"/v1/technicians/{uuid.uuid4()}/departures", body), 404, "not-found")
