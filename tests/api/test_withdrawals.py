"""A job that was opened by mistake is withdrawn before anything was done on it, and what was done all the same is kept."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.domain.record_fault import FaultCode
from jobs.queries.check_records import check_company
from jobs.services.sequence_log import sequence_log
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from shops.services.register_shop import ShopRequest, register_shop
from tests.acts import SCRIPTS
from tests.api.problems import refused
from tests.api.test_transfers import answer, of_shop, offer
from tests.record import JOSE, KITS, Caller, Record, build_record, issue_token
from tests.services.test_follow_up import availability, codes, retorque, state_of
from tests.services.test_kit_custody import ISSUE, job_on_another_unit

REASON = "Opened on 4107 by a slip: the casting is that of 4170."
FIRST = SCRIPTS["PR-11"][0]


def withdraw(record: Record, job: UUID, role: Role = Role.DISPATCH, **more: Any) -> Any:
    return record.as_role(role).post(f"/v1/jobs/{job}/withdrawals", {"id": str(uuid4()), "reason": REASON, **more})


def withdrawals(record: Record, job: UUID) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = record.as_role(Role.AUDITOR).get(f"/v1/jobs/{job}/withdrawals").json()["items"]
    return found


def send(record: Record, token: bytes) -> Any:
    return record.as_role(Role.TECHNICIAN).post("/v1/entries", token, JOSE)


def faults(record: Record) -> list[Any]:
    asked = (FaultCode.JOB_STATE, FaultCode.OUTCOME, FaultCode.GROUNDLESS)
    return [fault for fault in check_company(record.company) if fault.code in asked]


@pytest.fixture
def released(record: Record) -> Record:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    return record


@pytest.mark.parametrize("role", [Role.LEAD, Role.QUALITY, Role.DISPATCH])
def test_a_job_without_an_entry_is_withdrawn_with_a_reason(record: Record, role: Role) -> None:
    job = record.open_job()
    answer = withdraw(record, job, role)
    assert answer.status_code == 201, answer.content
    assert (answer.json()["job"], answer.json()["reason"]) == (str(job), REASON)
    assert answer.json()["recorded_by"].startswith(role.value)
    assert withdrawals(record, job) == [answer.json()]
    assert state_of(record, job) == "abandoned"
    listed = record.as_role(Role.DISPATCH).get("/v1/jobs?state=abandoned").json()["items"]
    assert [found["id"] for found in listed] == [str(job)]
    assert record.as_role(Role.DISPATCH).get("/v1/jobs?state=open").json()["items"] == []
    assert not record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()["open"]
    assert faults(record) == []


def test_the_unit_is_what_it_was_before_the_job_was_opened(released: Record) -> None:
    before = availability(released)
    job = released.open_job()
    working = availability(released)
    assert codes(released) == ["job_open"]
    assert withdraw(released, job).status_code == 201
    after = availability(released)
    version = "availability_version"
    assert after[version] > working[version] > before[version]
    assert {**after, version: 0} == {**before, version: 0}
    assert (after["state"], codes(released)) == ("limited", ["follow_up_due"])
    assert released.open_job() != job  # another may be opened


def test_a_unit_without_a_release_has_none_and_no_other_reason(record: Record) -> None:
    assert withdraw(record, record.open_job()).status_code == 201
    assert codes(record) == ["no_release"]


def test_the_change_of_availability_is_told(record: Record) -> None:
    job = record.open_job()
    sequence_log(company=record.company)
    dispatch = record.as_role(Role.DISPATCH)
    after = dispatch.get("/v1/availability_changes?limit=200").json()["next_after"]
    assert withdraw(record, job).status_code == 201
    sequence_log(company=record.company)
    (event,) = dispatch.get(f"/v1/availability_changes?after={after}").json()["items"]
    assert event["data"]["unit"] == str(record.units["PR-11"])
    assert [reason["code"] for reason in event["data"]["reasons"]] == ["no_release"]


def test_the_same_withdrawal_again_is_answered_again_and_another_is_refused(record: Record) -> None:
    job, other = record.open_job(), record.open_job("PR-12")
    first = withdraw(record, job)
    again = withdraw(record, job, id=first.json()["id"])
    assert (again.status_code, again.json()) == (200, first.json())
    refused(withdraw(record, job, id=first.json()["id"], reason="Another."), 409, "already-exists")
    refused(withdraw(record, other, id=first.json()["id"]), 409, "already-exists")
    assert "abandoned already" in refused(withdraw(record, job), 409, "conflict")["detail"]
    assert (len(withdrawals(record, job)), state_of(record, other)) == (1, "open")


def test_a_job_with_an_entry_is_not_withdrawn_and_the_refusal_says_what_to_do(record: Record) -> None:
    job = record.open_job()
    record.log(job, FIRST)
    before = availability(record)
    detail = refused(withdraw(record, job), 409, "conflict")["detail"]
    assert "1 entry" in detail
    assert all(cure in detail for cure in ("Finish", "condemn", "another shop"))
    assert (state_of(record, job), withdrawals(record, job), availability(record)) == ("open", [], before)


def test_a_released_job_is_not_withdrawn(released: Record) -> None:
    job = UUID(released.as_role(Role.LEAD).get("/v1/jobs").json()["items"][0]["id"])
    refused(withdraw(released, job), 409, "conflict")
    assert (state_of(released, job), codes(released)) == ("released", ["follow_up_due"])


def test_nobody_else_withdraws_it(record: Record) -> None:
    job, stranger = record.open_job(), build_record(procedures=())
    with transaction.atomic():
        record.enter()
        elsewhere = Caller(issue_token(record, Role.LEAD, TokenScope(shops=frozenset({uuid4()}))))
    body = {"id": str(uuid4()), "reason": REASON}
    refused(withdraw(stranger, job), 404, "not-found")
    refused(elsewhere.post(f"/v1/jobs/{job}/withdrawals", body), 404, "not-found")
    refused(elsewhere.get(f"/v1/jobs/{job}/withdrawals"), 404, "not-found")
    refused(withdraw(record, job, Role.TECHNICIAN), 403, "not-permitted")
    refused(withdraw(record, uuid4()), 404, "not-found")
    assert (state_of(record, job), withdrawals(record, job)) == ("open", [])


@pytest.mark.parametrize("reason", ["", " ", None])
def test_without_a_reason_nothing_is_withdrawn(record: Record, reason: str | None) -> None:
    job = record.open_job()
    refused(withdraw(record, job, reason=reason), 400, "bad-input")
    assert state_of(record, job) == "open"


def test_a_withdrawn_follow_up_leaves_the_release_limited_and_another_may_be_opened(released: Record) -> None:
    before = availability(released)
    job = released.open_job(purpose="follow_up")
    assert withdraw(released, job).status_code == 201
    after = availability(released)
    assert (after["state"], after["reasons"]) == ("limited", before["reasons"])
    again = released.open_job(purpose="follow_up")
    released.log(again, retorque("12"))
    assert (availability(released)["state"], state_of(released, job)) == ("available", "abandoned")
    assert faults(released) == []


def test_an_entry_that_ends_a_withdrawn_follow_up_opens_and_completes_it(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    assert withdraw(released, job).status_code == 201
    assert released.log(job, retorque("12"))["credit"]
    assert (state_of(released, job), availability(released)["state"]) == ("completed", "available")
    assert faults(released) == []


def test_a_kit_that_parts_issued_to_it_is_booked_back_first(record: Record) -> None:
    job, parts = record.open_job(), record.as_role(Role.PARTS)
    kit = parts.get(f"/v1/kits?serial={KITS['PR-11']}").json()["items"][0]["id"]
    path, shop = f"/v1/kits/{kit}/movements", str(record.shop)
    issue = {"id": str(uuid4()), "kind": "issued", "shop": shop, "job": str(job)}
    assert parts.post(path, issue).status_code == 201
    detail = refused(withdraw(record, job), 409, "conflict")["detail"]
    assert KITS["PR-11"] in detail
    assert "returned" in detail
    assert state_of(record, job) == "open"
    assert parts.post(path, {"id": str(uuid4()), "kind": "returned", "shop": shop}).status_code == 201
    assert withdraw(record, job).status_code == 201
    refused(parts.post(path, {**issue, "id": str(uuid4())}), 409, "conflict")


def test_a_kit_that_an_entry_of_another_job_names_is_still_issued_to_it(record: Record) -> None:
    job, parts, other = record.open_job(), record.as_role(Role.PARTS), job_on_another_unit(record)
    kit = parts.get(f"/v1/kits?serial={KITS['PR-11']}").json()["items"][0]["id"]
    issue = {"id": str(uuid4()), "kind": "issued", "shop": str(record.shop), "job": str(job)}
    assert parts.post(f"/v1/kits/{kit}/movements", issue).status_code == 201
    record.clock = datetime.now(UTC)
    act = SCRIPTS["PR-11"][ISSUE]
    assert not record.log(other, replace(act, minutes=0))["credit"]
    assert KITS["PR-11"] in refused(withdraw(record, job), 409, "conflict")["detail"]


def test_a_phone_that_has_it_offline_is_waited_for_unless_a_lead_says_why_not(record: Record) -> None:
    job, lead = record.open_job(), record.as_role(Role.LEAD)
    claim = {"id": str(uuid4()), "key": record.phones["RM"].jwk.thumbprint}
    assert lead.post(f"/v1/jobs/{job}/claims", claim).status_code == 201
    assert "phone of RM" in refused(withdraw(record, job), 409, "conflict")["detail"]
    assert (state_of(record, job), codes(record)) == ("open", ["job_open"])
    end = {"id": str(uuid4()), "last_sequence": 0, "reason": "RM never went to it."}
    assert lead.post(f"/v1/claims/{claim['id']}/ends", end).status_code == 201
    assert withdraw(record, job).status_code == 201


def test_an_entry_of_a_phone_that_was_offline_opens_the_job_again(record: Record) -> None:
    job = record.open_job()
    token = record.sign(job, FIRST)
    assert withdraw(record, job).status_code == 201
    before = availability(record)
    assert send(record, token).status_code == 201
    assert (state_of(record, job), codes(record)) == ("open", ["job_open"])
    assert availability(record)["availability_version"] > before["availability_version"]
    assert send(record, token).status_code == 200
    assert len(withdrawals(record, job)) == 1
    refused(withdraw(record, job), 409, "conflict")
    refused(record.as_role(Role.DISPATCH).post("/v1/jobs", record.job_request(uuid4())), 409, "job-already-open")
    assert faults(record) == []


def test_a_job_that_was_opened_again_is_finished_like_any_other(record: Record) -> None:
    job = record.open_job()
    assert withdraw(record, job).status_code == 201
    record.rebuild(job)
    record.release(job)
    assert (state_of(record, job), codes(record)) == ("released", ["follow_up_due"])
    assert faults(record) == []


def test_while_another_job_is_open_on_the_unit_the_phone_keeps_its_entry(record: Record) -> None:
    job = record.open_job()
    assert withdraw(record, job).status_code == 201
    other, dolly = record.open_job(), record.open_job("PR-12")
    token, fellow = record.sign(job, FIRST), record.sign(dolly, SCRIPTS["PR-12"][0], "PR-12")
    problem = refused(send(record, token), 409, "job-already-open")
    assert "send it again" in problem["errors"][0]["cure"]
    batch = {"entries": [token.decode(), fellow.decode(), token.decode()]}
    sent = record.as_role(Role.TECHNICIAN).post("/v1/entry_batches", batch).json()["results"]
    assert [result["status"] for result in sent] == [409, 201, 409]
    assert (state_of(record, job), codes(record)) == ("abandoned", ["job_open"])
    assert withdraw(record, other).status_code == 201
    assert send(record, token).status_code == 201
    assert (state_of(record, job), state_of(record, other)) == ("open", "abandoned")
    assert faults(record) == []


def test_a_release_of_a_withdrawn_job_is_refused(record: Record) -> None:
    job = record.open_job()
    assert withdraw(record, job).status_code == 201
    token = record.release_token(job)
    refused(record.as_role(Role.LEAD).post("/v1/releases", token, JOSE), 409, "conflict")
    assert state_of(record, job) == "abandoned"


def test_what_would_be_earned_on_a_withdrawn_job_opens_nothing(record: Record) -> None:
    job = record.open_job()
    assert withdraw(record, job).status_code == 201
    token = record.sign(job, FIRST)
    assert record.as_role(Role.TECHNICIAN).post("/v1/entry_previews", token, JOSE).status_code == 200
    assert state_of(record, job) == "abandoned"


def test_a_withdrawn_job_that_was_on_offer_goes_nowhere(record: Record) -> None:
    with transaction.atomic():
        record.enter()
        shop = ShopRequest(uuid4(), "B", "Brayfen", "America/Chicago", "in")
        register_shop(company=record.company, request=shop)
    job, brayfen = record.open_job(), of_shop(record, shop.id)
    transfer = offer(record, job, shop.id).json()["id"]
    assert withdraw(record, job).status_code == 201
    assert answer(brayfen, transfer, "acceptances").status_code == 409
    assert answer(brayfen, transfer, "declines").status_code == 201
    assert state_of(record, job) == "abandoned"
