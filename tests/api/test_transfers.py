"""A job goes to another shop by consent of both; until then it stays, and its gate is shut."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.queries.check_records import check_company
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from shops.services.issue_access_token import TokenRequest, issue_access_token
from shops.services.register_shop import ShopRequest, register_shop
from tests.acts import SCRIPTS
from tests.record import JOSE, Caller, Record


@pytest.fixture
def other(record: Record) -> UUID:
    """A second shop, Brayfen."""
    with transaction.atomic():
        record.enter()
        shop = ShopRequest(uuid4(), "B", "Brayfen", "America/Chicago", "in")
        register_shop(company=record.company, request=shop)
    return shop.id


def of_shop(record: Record, shop: UUID, role: Role = Role.LEAD) -> Caller:
    """Somebody of one shop: JD of Ashlock, AB of another."""
    asked = TokenRequest(
        uuid4(),
        "JD" if shop == record.shop else "AB",
        role,
        datetime.now(UTC) + timedelta(days=1),
        scope=TokenScope(shops=frozenset({shop})),
    )
    with transaction.atomic():
        record.enter()
        issued = issue_access_token(company=record.company, request=asked, issued_by="NN", now=datetime.now(UTC))
    return Caller(issued.text)


def offer(record: Record, job: UUID, to_shop: UUID, caller: Caller | None = None, **more: Any) -> Any:
    body = {"id": str(uuid4()), "to_shop": str(to_shop), "reason": "No welder this week.", **more}
    return (caller or record.as_role(Role.LEAD)).post(f"/v1/jobs/{job}/transfers", body)


def answer(caller: Caller, transfer: str, kind: str, **more: Any) -> Any:
    body = {"id": str(uuid4()), "reason": "It stands in the yard.", **more}
    return caller.post(f"/v1/transfers/{transfer}/{kind}", body)


def gate(record: Record, job: UUID) -> list[str]:
    found = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()
    return [blocker["code"] for blocker in found["blockers"]]


def shop_of(record: Record, job: UUID) -> str:
    return str(record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["shop"]["id"])


def test_until_the_other_shop_accepts_the_job_stays_and_its_gate_is_shut(record: Record, other: UUID) -> None:
    job = record.open_job()
    record.rebuild(job)
    assert gate(record, job) == []
    offered = offer(record, job, other)
    assert (offered.status_code, offered.json()["state"]) == (201, "open")
    assert (gate(record, job), shop_of(record, job)) == (["transfer_open"], str(record.shop))
    refused = record.as_role(Role.LEAD).post("/v1/releases", record.release_token(job), JOSE)
    assert refused.status_code == 409
    assert [blocker["code"] for blocker in refused.json()["blockers"]] == ["transfer_open"]


def test_a_lead_of_the_other_shop_accepts_and_has_it(record: Record, other: UUID) -> None:
    job = record.open_job()
    brayfen, ashlock = of_shop(record, other), of_shop(record, record.shop)
    transfer = offer(record, job, other, ashlock).json()["id"]
    assert [found["id"] for found in brayfen.get("/v1/transfers?state=open").json()["items"]] == [transfer]
    assert brayfen.get(f"/v1/jobs/{job}").status_code == 404
    accepted = answer(brayfen, transfer, "acceptances")
    assert (accepted.status_code, accepted.json()["state"]) == (201, "accepted")
    assert brayfen.get(f"/v1/jobs/{job}").json()["shop"]["code"] == "B"
    assert ashlock.get(f"/v1/jobs/{job}").status_code == 404
    assert "transfer_open" not in gate(record, job)


def test_the_shop_that_offers_does_not_accept_for_the_other(record: Record, other: UUID) -> None:
    job, ashlock = record.open_job(), of_shop(record, record.shop)
    transfer = offer(record, job, other, ashlock).json()["id"]
    assert answer(ashlock, transfer, "acceptances").status_code == 403
    everywhere = offer(record, record.open_job("PR-12"), other).json()["id"]
    assert answer(record.as_role(Role.LEAD), everywhere, "acceptances").status_code == 403
    assert shop_of(record, job) == str(record.shop)


@pytest.mark.parametrize("side", ["other", "own"])
def test_either_shop_may_say_no_and_the_job_stays(record: Record, other: UUID, side: str) -> None:
    job = record.open_job()
    transfer = offer(record, job, other).json()["id"]
    caller = of_shop(record, other if side == "other" else record.shop)
    declined = answer(caller, transfer, "declines", reason="No lift free.")
    assert (declined.status_code, declined.json()["state"]) == (201, "declined")
    assert "transfer_open" not in gate(record, job)
    assert answer(of_shop(record, other), transfer, "acceptances").status_code == 409
    assert shop_of(record, job) == str(record.shop)
    assert offer(record, job, other).status_code == 201  # it may be asked again


def test_a_third_shop_sees_nothing_of_it(record: Record, other: UUID) -> None:
    with transaction.atomic():
        record.enter()
        third = ShopRequest(uuid4(), "C", "Corrow", "America/Denver", "in")
        register_shop(company=record.company, request=third)
    transfer = offer(record, record.open_job(), other).json()["id"]
    corrow = of_shop(record, third.id)
    assert corrow.get("/v1/transfers").json()["items"] == []
    assert answer(corrow, transfer, "acceptances").status_code == 404
    assert answer(corrow, transfer, "declines").status_code == 404


def test_a_job_is_offered_once_at_a_time_and_not_to_where_it_is(record: Record, other: UUID) -> None:
    job = record.open_job()
    first = offer(record, job, other)
    again = offer(record, job, other, id=first.json()["id"])
    assert (again.status_code, again.json()) == (200, first.json())
    assert offer(record, job, other).status_code == 409
    assert offer(record, job, record.shop).status_code == 409
    assert offer(record, record.open_job("PR-12"), record.shop).status_code == 400
    assert offer(record, job, uuid4()).status_code == 404


def test_an_entry_of_before_the_move_is_still_taken_and_one_of_after_is_not(record: Record, other: UUID) -> None:
    job, technician = record.open_job(), of_shop(record, record.shop, Role.TECHNICIAN)
    before = record.sign(job, SCRIPTS["PR-11"][0])
    transfer = offer(record, job, other).json()["id"]
    assert answer(of_shop(record, other), transfer, "acceptances").status_code == 201
    assert technician.post("/v1/entries", before, JOSE).status_code == 201
    record.clock = datetime.now(UTC)
    after = record.sign(job, replace(SCRIPTS["PR-11"][1], minutes=0))
    assert technician.post("/v1/entries", after, JOSE).status_code == 404


def test_a_preview_on_a_job_that_was_given_away_is_answered_as_the_entry_would_be(record: Record, other: UUID) -> None:
    job, technician = record.open_job(), of_shop(record, record.shop, Role.TECHNICIAN)
    before = record.sign(job, SCRIPTS["PR-11"][0])
    transfer = offer(record, job, other).json()["id"]
    assert answer(of_shop(record, other), transfer, "acceptances").status_code == 201
    preview = technician.post("/v1/entry_previews", before, JOSE)
    assert (preview.status_code, preview.json()["credit"]) == (200, True)
    record.clock = datetime.now(UTC)
    after = record.sign(job, replace(SCRIPTS["PR-11"][1], minutes=0))
    assert technician.post("/v1/entry_previews", after, JOSE).status_code == 404


@pytest.mark.parametrize("entries", [0, 1])
def test_the_record_of_a_job_that_moved_is_whole(record: Record, other: UUID, entries: int) -> None:
    job = record.open_job()
    for act in SCRIPTS["PR-11"][:entries]:
        record.log(job, act)
    transfer = offer(record, job, other).json()["id"]
    assert answer(of_shop(record, other), transfer, "acceptances").status_code == 201
    record.log(job, SCRIPTS["PR-11"][entries])
    faults = [fault for fault in check_company(record.company) if fault.table in {"jobs", "entries"}]
    assert faults == []


def test_of_a_batch_only_what_was_done_after_the_move_is_turned_away(record: Record, other: UUID) -> None:
    job, technician = record.open_job(), of_shop(record, record.shop, Role.TECHNICIAN)
    before = record.sign(job, SCRIPTS["PR-11"][0])
    transfer = offer(record, job, other).json()["id"]
    assert answer(of_shop(record, other), transfer, "acceptances").status_code == 201
    record.clock = datetime.now(UTC)
    after = record.sign(job, replace(SCRIPTS["PR-11"][1], minutes=0))
    sent = technician.post("/v1/entry_batches", {"entries": [before.decode(), after.decode()]}).json()["results"]
    assert [result["status"] for result in sent] == [201, 404]


def test_who_offered_a_job_does_not_accept_it_with_a_token_of_another_role(record: Record, other: UUID) -> None:
    offered = offer(record, record.open_job(), other, of_shop(record, record.shop)).json()["id"]
    label = "JD"
    scope = TokenScope(shops=frozenset({other}))
    asked = TokenRequest(uuid4(), label, Role.QUALITY, datetime.now(UTC) + timedelta(days=1), scope=scope)
    with transaction.atomic():
        record.enter()
        issued = issue_access_token(company=record.company, request=asked, issued_by="NN", now=datetime.now(UTC))
    assert answer(Caller(issued.text), offered, "acceptances").status_code == 403
