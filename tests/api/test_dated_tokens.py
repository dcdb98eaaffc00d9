"""A token for records between dates: neither an entry beyond them, nor what is derived from a whole job."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from shops.services.new_id import new_id
from shops.services.register_shop import ShopRequest, register_shop
from tests.acts import SCRIPTS
from tests.api.problems import refused, without_request_id
from tests.api.routes import ROUTES
from tests.api.test_query_counts import AUDITED, statements
from tests.record import JOSE, Caller, Record, add_unit, issue_token
from tests.uploading import DIGEST, HEAP, begin

Job = tuple[UUID, list[dict[str, Any]]]


@pytest.fixture
def job(record: Record) -> Job:
    job = record.open_job()
    acts = SCRIPTS["PR-11"][:5]
    return job, [*record.play(job, acts[:2]), *record.play(job, acts[2:])]


def dated(record: Record, **dates: datetime) -> Caller:
    with transaction.atomic():
        record.enter()
        return Caller(issue_token(record, Role.AUDITOR, TokenScope(**dates)))


def entries_for(caller: Caller, job: UUID, query: str = "") -> list[str]:
    answer = caller.get(f"/v1/jobs/{job}/entries{query}")
    assert answer.status_code == 200
    return [item["entry"] for item in answer.json()["items"]]


def test_a_job_s_entries_are_those_that_arrived_between_the_dates(record: Record, job: Job) -> None:
    sent = [one["entry"] for one in job[1]]
    third = datetime.fromisoformat(job[1][2]["received_at"])
    early, late = dated(record, records_to=third), dated(record, records_from=third)
    assert (entries_for(early, job[0]), entries_for(late, job[0])) == (sent[:2], sent[2:])
    assert entries_for(late, job[0], "?limit=1") == sent[2:3]


def third_arrival(job: Job) -> datetime:
    return datetime.fromisoformat(job[1][2]["received_at"])


DERIVED = ("readings", "steps", "gate", "bundle", "printed_record")


@pytest.mark.parametrize("path", [*(f"jobs/{{job}}/{part}" for part in DERIVED), "units/{unit}/wear", "device_chains"])
def test_what_is_derived_from_a_whole_job_is_not_told(record: Record, job: Job, path: str) -> None:
    caller = dated(record, records_to=third_arrival(job))
    answer = caller.get("/v1/" + path.format(job=job[0], unit=record.units["PR-11"]))
    assert (answer.status_code, answer.json()["type"]) == (403, "urn:rebuild-record:problem:not-permitted")


def test_who_looked_is_not_told(record: Record) -> None:
    assert dated(record, records_to=record.set_up_at).get("/v1/access_log").status_code == 403


def periods(record: Record, job: Job) -> dict[str, dict[str, datetime]]:
    """Dates around a job that was opened, had two entries, and three more later."""
    opened = datetime.fromisoformat(record.as_role(Role.LEAD).get(f"/v1/jobs/{job[0]}").json()["opened_at"])
    third, tick = third_arrival(job), timedelta(microseconds=1)
    return {
        "before it was opened": {"records_to": opened},
        "while it was opened": {"records_from": opened, "records_to": opened + tick},
        "between its acts": {"records_from": opened + tick, "records_to": opened + 2 * tick},
        "its first acts": {"records_from": opened + tick, "records_to": third},
        "its last acts": {"records_from": third},
        "after its last act": {"records_from": third + tick},
    }


REACHED = {"while it was opened", "its first acts", "its last acts"}


WHEN = [*sorted(REACHED), "before it was opened", "between its acts", "after its last act"]


@pytest.mark.parametrize("when", WHEN)
def test_a_job_is_known_to_a_token_only_if_something_of_it_lies_between_its_dates(
    record: Record, job: Job, when: str
) -> None:
    caller = dated(record, **periods(record, job)[when])
    answer = caller.get(f"/v1/jobs/{job[0]}")
    listed = [item["id"] for item in caller.get("/v1/jobs").json()["items"]]
    assert (answer.status_code, listed) == ((200, [str(job[0])]) if when in REACHED else (404, []))


JOB_ROUTES = sorted(
    {
        (route.method, route.path)
        for route in ROUTES
        if "<uuid:job>" in route.path and getattr(route.handler, "roles", None)
    }
)


@pytest.mark.parametrize(("method", "path"), JOB_ROUTES, ids=[f"{method} {path}" for method, path in JOB_ROUTES])
def test_a_job_beyond_the_dates_is_as_unknown_as_another_company_s_wherever_it_is_asked_for(
    record: Record, job: Job, method: str, path: str
) -> None:
    handler = next(route.handler for route in ROUTES if (route.method, route.path) == (method, path))
    role = min(handler.roles)
    with transaction.atomic():
        record.enter()
        caller = Caller(issue_token(record, role, TokenScope(records_to=record.set_up_at)))

    def ask(identifier: UUID) -> Any:
        address = "/" + path.replace("<uuid:job>", str(identifier)).replace("<str:digest>", DIGEST)
        if method == "GET":
            return caller.get(address)
        if "uploads" in path:
            return begin(caller, identifier, HEAP)
        content = {"id": str(uuid4()), "key": record.phones["OK"].key}
        offer = {"id": str(uuid4()), "to_shop": str(record.shop), "reason": "Busy."}
        slip = {"id": str(uuid4()), "reason": "A slip."}
        bodies = {"transfers": offer, "withdrawals": slip}
        return caller.post(address, bodies.get(path.rpartition("/")[2], content))

    beyond, unknown = ask(job[0]), ask(uuid4())
    assert beyond.status_code == unknown.status_code == 404
    assert without_request_id(beyond) == without_request_id(unknown)


def test_nothing_is_written_on_a_job_beyond_the_dates(record: Record, job: Job) -> None:
    with transaction.atomic():
        record.enter()
        scope = TokenScope(records_to=record.set_up_at)
        phone, lead = (Caller(issue_token(record, role, scope)) for role in (Role.TECHNICIAN, Role.LEAD))
    entry = record.sign(job[0], SCRIPTS["PR-11"][5])
    refused(phone.post("/v1/entries", entry, JOSE), 404, "not-found")
    refused(phone.post("/v1/entry_previews", entry, JOSE), 404, "not-found")
    refused(lead.post("/v1/releases", record.release_token(job[0]), JOSE), 404, "not-found")
    request = record.job_request(job[0])
    refused(phone.post("/v1/jobs", request), 404, "not-found")
    refused(phone.post("/v1/jobs", {**request, "id": str(uuid4())}), 403, "not-permitted")


def test_neither_release_nor_preview_tells_a_dated_token_what_follows_from_the_whole_job(
    record: Record, job: Job
) -> None:
    with transaction.atomic():
        record.enter()
        lead = Caller(issue_token(record, Role.LEAD, TokenScope(records_from=third_arrival(job))))
    refused(lead.post("/v1/releases", record.release_token(job[0]), JOSE), 403, "not-permitted")
    entry = record.sign(job[0], SCRIPTS["PR-11"][5])
    refused(lead.post("/v1/entry_previews", entry, JOSE), 403, "not-permitted")
    assert lead.post("/v1/entries", entry, JOSE).status_code == 201


def test_offers_and_holds_of_jobs_beyond_the_dates_are_not_listed(record: Record, job: Job) -> None:
    with transaction.atomic():
        record.enter()
        other = new_id(record.set_up_at)
        register_shop(company=record.company, request=ShopRequest(other, "B", "Brackwater", "America/Chicago", "in"))
    offer = {"id": str(uuid4()), "to_shop": str(other), "reason": "The bay is full."}
    assert record.as_role(Role.LEAD).post(f"/v1/jobs/{job[0]}/transfers", offer).status_code == 201
    hold = {"id": str(uuid4()), "job": str(job[0]), "reason": "The insurer asks."}
    of_company = {"id": str(uuid4()), "reason": "The insurer asks about all."}
    for one in (hold, of_company):
        assert record.as_role(Role.QUALITY).post("/v1/legal_holds", one).status_code == 201
    for dates, seen in (({"records_to": record.set_up_at}, False), ({"records_to": third_arrival(job)}, True)):
        caller = dated(record, **dates)
        assert ids(caller, "transfers") == ([offer["id"]] if seen else [])
        assert ids(caller, "legal_holds") == ([hold["id"]] if seen else []) + [of_company["id"]]
        assert (caller.get(f"/v1/legal_holds/{hold['id']}").status_code == 200) is seen


def ids(caller: Caller, path: str) -> list[str]:
    return [item["id"] for item in caller.get(f"/v1/{path}").json()["items"]]


def test_dates_cost_a_list_of_jobs_no_query_more(record: Record, job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    lists = {"/v1/jobs": 2 + AUDITED, f"/v1/jobs/{job[0]}": 2 + AUDITED, "/v1/transfers": 2 + AUDITED}
    caller = dated(record, records_to=datetime.now(UTC))
    for path, count in lists.items():
        assert statements(monkeypatch, lambda path=path: caller.get(path))[0] == count, path
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4120")
    record.play(record.open_job(unit=str(unit)), SCRIPTS["PR-11"][:5])
    caller = dated(record, records_to=datetime.now(UTC))
    assert len(caller.get("/v1/jobs").json()["items"]) == 2
    for path, count in lists.items():
        assert statements(monkeypatch, lambda path=path: caller.get(path))[0] == count, path
