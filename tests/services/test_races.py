"""Two at once, over real connections of their own on a committed data base: one wins, none gets a 500, none is lost."""

import uuid
from collections.abc import Sequence
from typing import Any

import pytest
from django.db import connections, transaction

from jobs.demo.phone import Phone
from jobs.domain.receipt import Receipt
from jobs.queries.job_rows import job_row
from shops.domain.access import Role
from tests.acts import PR_11, Act, step
from tests.record import JOSE, Caller, Record, add_unit, enrolment_code
from tests.services.races import Call, Connect, Running, job_locked, race, statuses

ROUNDS = range(4)


def poster(record: Record, path: str, body: Any, content: str = JOSE, role: Role = Role.TECHNICIAN) -> Call:
    return lambda: record.as_role(role).post(path, body, content)


def count(record: Record, table: str) -> int:
    with transaction.atomic(), connections["default"].cursor() as cursor:
        record.enter()
        cursor.execute(f"SELECT count(*) FROM {table}")
        return int(cursor.fetchone()[0])


def test_entries_that_race_for_a_position_are_all_stored_in_one_chain(record: Record, application: Connect) -> None:
    job = record.open_job()
    tokens = [record.sign(job, act) for act in (step("identify"), step("identify", "SV"), step("identify", "OK"))]
    with job_locked(record, job, application) as wait_for:
        running = Running([poster(record, "/v1/entries", token) for token in tokens])
        wait_for(3)
    answers = running.finish()
    assert statuses(answers) == [201, 201, 201]
    chain = sorted((answer.json() for answer in answers), key=lambda receipt: receipt["position"])
    assert [receipt["position"] for receipt in chain] == [1, 2, 3]
    assert [receipt["previous"] for receipt in chain[1:]] == [receipt["leaf"] for receipt in chain[:-1]]
    assert record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["chain_head"] == chain[-1]["leaf"]


def test_the_chain_after_a_race_is_the_one_that_its_receipts_give(record: Record) -> None:
    job = record.open_job()
    batches = [
        [record.sign(job, Act(who, "hold", {"reason": f"look {number}"})).decode() for number in range(5)]
        for who in ("RM", "SV", "OK", "JD")
    ]
    answers = race(*(poster(record, "/v1/entry_batches", {"entries": batch}, "application/json") for batch in batches))
    assert statuses(answers) == [200] * 4
    entries = record.as_role(Role.AUDITOR).get(f"/v1/jobs/{job}/entries?limit=200").json()["items"]
    assert [entry["position"] for entry in entries] == list(range(1, 21))
    assert recomputed(record, job) == entries[-1]["leaf"]


def recomputed(record: Record, job: uuid.UUID) -> str:
    """The chain head, computed from the rows by hand."""
    with transaction.atomic(), connections["default"].cursor() as cursor:
        record.enter()
        cursor.execute(
            "SELECT id, position, digest, received_at, skew_ms, previous FROM entries WHERE job_id = %s ORDER BY position",
            [job],
        )
        rows = cursor.fetchall()
        stored = job_row(record.company, job)
    previous = bytes(rows[0][5])
    for identifier, position, digest, received_at, skew_ms, _ in rows:
        previous = Receipt(identifier, job, position, bytes(digest), previous, received_at, skew_ms).leaf()
    assert stored is not None
    assert stored.chain_head == previous
    return previous.hex()


def test_the_same_entry_twice_at_once_is_one_row_and_one_receipt(record: Record, application: Connect) -> None:
    job = record.open_job()
    token = record.sign(job, step("identify"))
    with job_locked(record, job, application) as wait_for:
        running = Running([poster(record, "/v1/entries", token)] * 4)
        wait_for(4)
    answers = running.finish()
    assert statuses(answers) == [200, 200, 200, 201]
    assert len({answer.json()["leaf"] for answer in answers}) == 1
    assert count(record, "entries") == 1


@pytest.mark.parametrize("round_", ROUNDS)
def test_the_same_entry_id_on_two_jobs_at_once_is_stored_once(record: Record, round_: int) -> None:
    jobs = {"PR-11": record.open_job("PR-11"), "PR-12": record.open_job("PR-12")}
    phone, now = record.phones["RM"], record.clock
    payload = {
        "entry": "019cae2e-5f40-7c3a-9b1f-0c5e5f0a4107",
        "kind": "step",
        "step": "identify",
        "performed_at": now.isoformat(),
        "device_seq": 1,
        "device_previous": None,
    }
    tokens = [
        phone.sign({**payload, "job": str(job), "procedure": record.digests[code]}, "rebuild-entry+jws")
        for code, job in jobs.items()
    ]
    answers = race(*(poster(record, "/v1/entries", token) for token in tokens))
    assert statuses(answers) == [201, 409]
    assert count(record, "entries") == 1


@pytest.mark.parametrize("round_", ROUNDS)
def test_two_jobs_opened_on_one_unit_at_once_are_one_job(record: Record, round_: int) -> None:
    bodies = [record.job_request(uuid.uuid4()) for _ in range(2)]
    answers = race(*(poster(record, "/v1/jobs", body, "application/json", Role.DISPATCH) for body in bodies))
    assert statuses(answers) == [201, 409]
    refusal = next(answer for answer in answers if answer.status_code == 409)
    assert refusal.json()["type"].endswith(":job-already-open")
    assert count(record, "jobs") == 1


@pytest.mark.parametrize("round_", ROUNDS)
def test_the_same_job_opened_twice_at_once_is_one_job_and_two_good_answers(record: Record, round_: int) -> None:
    body = record.job_request(uuid.uuid4(), reference="WO-4107-03")
    answers = race(*[poster(record, "/v1/jobs", body, "application/json", Role.DISPATCH)] * 2)
    assert statuses(answers) == [200, 201]
    assert count(record, "jobs") == 1


def test_one_reference_for_two_units_at_once_is_taken_by_one(record: Record) -> None:
    with transaction.atomic():
        record.enter()
        other = add_unit(record, "4108")
    bodies = [
        record.job_request(uuid.uuid4(), reference="WO-1"),
        record.job_request(uuid.uuid4(), reference="WO-1", unit=str(other)),
    ]
    answers = race(*(poster(record, "/v1/jobs", body, "application/json", Role.DISPATCH) for body in bodies))
    assert statuses(answers) == [201, 409]
    assert count(record, "jobs") == 1


def test_two_releases_over_one_chain_head_are_one_release(record: Record, application: Connect) -> None:
    job = record.open_job()
    record.rebuild(job)
    head = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["chain_head"]
    tokens = [
        record.sign(job, Act(who, "release", {"chain_head": head, "statement": "Released."})) for who in ("JD", "RM")
    ]
    with job_locked(record, job, application) as wait_for:
        running = Running([poster(record, "/v1/releases", token, role=Role.LEAD) for token in tokens])
        wait_for(2)
    answers = running.finish()
    assert statuses(answers) == [201, 409]
    assert count(record, "releases") == 1
    assert count(record, "entries") == len(PR_11) + 1


def test_the_same_release_twice_at_once_is_one_release_and_two_good_answers(
    record: Record, application: Connect
) -> None:
    job = record.open_job()
    record.rebuild(job)
    token = record.release_token(job)
    with job_locked(record, job, application) as wait_for:
        running = Running([poster(record, "/v1/releases", token, role=Role.LEAD)] * 2)
        wait_for(2)
    answers = running.finish()
    assert statuses(answers) == [200, 201]
    assert len({answer.json()["id"] for answer in answers}) == 1
    assert count(record, "releases") == 1


def test_an_entry_and_a_release_at_once_leave_no_release_over_an_unseen_entry(
    record: Record, application: Connect
) -> None:
    job = record.open_job()
    record.rebuild(job)
    release, hold = record.release_token(job), record.sign(job, Act("RM", "hold", {"reason": "Wait."}))
    with job_locked(record, job, application) as wait_for:
        running = Running(
            [poster(record, "/v1/releases", release, role=Role.LEAD), poster(record, "/v1/entries", hold)]
        )
        wait_for(2)
    released, held = running.finish()
    assert held.status_code == 201
    if released.status_code == 201:
        assert held.json()["position"] == len(PR_11) + 2
    else:
        assert released.json()["type"].endswith(":chain-head-moved")
        assert count(record, "releases") == 0


@pytest.mark.parametrize("round_", ROUNDS)
def test_one_enrolment_code_enrols_one_of_two_phones(record: Record, round_: int) -> None:
    from datetime import UTC, datetime

    with transaction.atomic():
        record.enter()
        code = enrolment_code(record, "RM", datetime.now(UTC))
    before = count(record, "device_keys")
    answers = race(*(enroller(Phone.with_ed25519("RM"), code) for _ in range(2)))
    assert statuses(answers)[0] == 201
    assert statuses(answers)[1] in {409, 422}
    assert count(record, "device_keys") == before + 1


def enroller(phone: Phone, code: str) -> Call:
    body = {
        "id": str(uuid.uuid4()),
        "code": code,
        "jwk": dict(phone.jwk.canonical),
        "proof": phone.proof(code, "RM's phone"),
        "device_name": "RM's phone",
    }
    return lambda: Caller(None).post("/v1/device_keys", body)


def test_batches_over_the_same_jobs_in_opposite_orders_do_not_wait_for_each_other(record: Record) -> None:
    jobs = {"PR-11": record.open_job("PR-11"), "PR-12": record.open_job("PR-12")}

    def batch(who: str, codes: Sequence[str]) -> dict[str, Any]:
        acts = [(code, Act(who, "hold", {"reason": "look"})) for code in codes for _ in range(5)]
        return {"entries": [record.sign(jobs[code], act, code).decode() for code, act in acts]}

    bodies = [batch(who, codes) for who, codes in (("RM", ["PR-11", "PR-12"]), ("SV", ["PR-12", "PR-11"]))]
    answers = race(*(poster(record, "/v1/entry_batches", body, "application/json") for body in bodies))
    assert statuses(answers) == [200, 200]
    assert all(result["status"] == 201 for answer in answers for result in answer.json()["results"])
    assert count(record, "entries") == 20


@pytest.mark.parametrize("round_", ROUNDS)
def test_of_two_editors_of_one_version_one_loses(record: Record, round_: int) -> None:
    path = f"/v1/carriers/{record.carrier}"

    def change(name: str) -> Call:
        return lambda: record.as_role(Role.LEAD).send("PATCH", path, {"name": name}, **{"If-Match": '"v1"'})

    answers = race(change("Tarn Valley"), change("Tarn Haulage"))
    assert statuses(answers) == [200, 412]
