"""Kits over HTTP: received once, moved where a kit can go, found by lot and state."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from tests.acts import SCRIPTS, Act
from tests.api.problems import pointers
from tests.record import KITS, Caller, Record, issue_token
from tests.strategies import shipped

LINES = list(shipped("PR-11").kit_lines)


def receive(record: Record, serial: str, **more: Any) -> Any:
    body = {"id": str(uuid4()), "serial": serial, "lot": "LT-26-009", "coupling": "BW-T2", "lines": LINES, **more}
    return record.as_role(Role.PARTS).post("/v1/kits", body)


def move(record: Record, kit: str, kind: str, **more: Any) -> Any:
    return record.as_role(Role.PARTS).post(f"/v1/kits/{kit}/movements", {"id": str(uuid4()), "kind": kind, **more})


def kits(record: Record, query: str = "") -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = record.as_role(Role.LEAD).get(f"/v1/kits?{query}").json()["items"]
    return found


def test_a_kit_is_received_once(record: Record) -> None:
    first = receive(record, "K-T2-0077")
    kit = first.json()
    assert (first.status_code, kit["state"], kit["movements"]) == (201, "received", [])
    again = receive(record, "K-T2-0077", id=kit["id"])
    assert (again.status_code, again.json()) == (200, kit)
    assert receive(record, "K-T2-0078", id=kit["id"]).status_code == 409
    other = receive(record, "K-T2-0077")
    assert (other.status_code, pointers(other.json())) == (409, ["/serial"])


def test_kits_are_found_by_lot_and_by_where_they_are(record: Record) -> None:
    kit = receive(record, "K-T2-0077").json()["id"]
    receive(record, "K-T2-0078", lot="LT-26-010")
    assert move(record, kit, "stocked", shop=str(record.shop)).status_code == 201
    assert [found["serial"] for found in kits(record, "lot=LT-26-009")] == ["K-T2-0077"]
    assert [found["serial"] for found in kits(record, "state=stocked")] == ["K-T2-0077"]
    assert {found["serial"] for found in kits(record, "state=received")} == {"K-T2-0078", *KITS.values()}
    assert [found["id"] for found in kits(record, "serial=K-T2-0077&coupling=BW-T2")] == [kit]


def test_a_technician_who_logs_the_kit_moves_it(record: Record) -> None:
    job = record.open_job()
    upto = next(at for at, act in enumerate(SCRIPTS["PR-11"]) if act.step == "issue-kit")
    record.play(job, SCRIPTS["PR-11"][: upto + 1])
    kit = kits(record, "serial=K-T2-0412")[0]
    assert (kit["state"], kit["job"]) == ("issued", str(job))
    moves = record.as_role(Role.AUDITOR).get(f"/v1/kits/{kit['id']}").json()["movements"]
    assert [(found["kind"], found["recorded_by"]) for found in moves] == [("issued", "the record")]
    assert moves[0]["id"] in {entry["entry"] for entry in entries(record, job)}


def test_a_kit_that_is_registered_after_it_was_scanned_moves_with_the_next_entry(record: Record) -> None:
    job = record.open_job()
    at = next(at for at, act in enumerate(SCRIPTS["PR-11"]) if act.step == "issue-kit")
    record.play(job, SCRIPTS["PR-11"][:at])
    scanned = Act("RM", "step", {"step": "issue-kit", "kit": {"serial": "K-T2-0077"}})
    assert not record.log(job, scanned)["credit"]
    receive(record, "K-T2-0077")
    assert kits(record, "serial=K-T2-0077")[0]["state"] == "received"
    assert record.log(job, SCRIPTS["PR-11"][at + 1])["credit"]
    kit = kits(record, "serial=K-T2-0077")[0]
    assert (kit["state"], kit["job"]) == ("issued", str(job))


def test_a_kit_that_was_named_by_mistake_is_free_once_the_entry_is_amended(record: Record) -> None:
    receive(record, "K-T2-0077")
    job = record.open_job()
    at = next(at for at, act in enumerate(SCRIPTS["PR-11"]) if act.step == "issue-kit")
    record.play(job, SCRIPTS["PR-11"][:at])
    wrong = record.log(job, Act("RM", "step", {"step": "issue-kit", "kit": {"serial": "K-T2-0077"}}))
    right = {"kind": "step", "step": "issue-kit", "kit": {"serial": "K-T2-0412"}}
    amended = {"amends": wrong["entry"], "reason": "Read the label of the box beside.", "content": right}
    assert record.log(job, Act("RM", "amendment", amended))["credit"]
    assert [found["state"] for found in kits(record, "serial=K-T2-0077")] == ["returned"]
    assert [found["job"] for found in kits(record, "serial=K-T2-0412")] == [str(job)]


def entries(record: Record, job: Any) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/entries?limit=200").json()["items"]
    return found


def test_a_kit_that_one_job_has_is_not_issued_to_another_until_it_comes_back(record: Record) -> None:
    tractor, dolly = record.open_job(), record.open_job("PR-12")
    kit = receive(record, "K-T2-0077").json()["id"]
    assert move(record, kit, "issued", job=str(tractor)).status_code == 201
    assert move(record, kit, "issued", job=str(dolly)).status_code == 409
    assert move(record, kit, "returned").status_code == 201
    assert move(record, kit, "issued", job=str(dolly)).status_code == 201


def test_a_scrapped_kit_goes_nowhere(record: Record) -> None:
    kit = receive(record, "K-T2-0077").json()["id"]
    scrapped = {"id": str(uuid4()), "kind": "scrapped"}
    parts = record.as_role(Role.PARTS)
    assert parts.post(f"/v1/kits/{kit}/movements", scrapped).status_code == 201
    assert parts.post(f"/v1/kits/{kit}/movements", scrapped).status_code == 200
    assert move(record, kit, "stocked").status_code == 409


def test_a_movement_that_names_nothing_or_the_wrong_thing_is_refused(record: Record) -> None:
    kit = receive(record, "K-T2-0077").json()["id"]
    assert move(record, str(uuid4()), "stocked").status_code == 404
    assert pointers(move(record, kit, "stocked", job=str(record.open_job())).json()) == ["/job"]
    assert pointers(move(record, kit, "issued", job=str(uuid4())).json()) == ["/job"]
    assert pointers(move(record, kit, "stocked", shop=str(uuid4())).json()) == ["/shop"]
    assert pointers(move(record, kit, "lost").json()) == ["/kind"]


def test_a_job_out_of_reach_is_not_named(record: Record) -> None:
    job = record.open_job()
    kit = receive(record, "K-T2-0077").json()["id"]
    move(record, kit, "issued", job=str(job))
    with transaction.atomic():
        record.enter()
        elsewhere = Caller(issue_token(record, Role.AUDITOR, TokenScope(carriers=frozenset({uuid4()}))))
    seen = elsewhere.get(f"/v1/kits/{kit}").json()
    assert (seen["state"], seen["job"], seen["movements"][0]["job"]) == ("issued", None, None)
    assert record.as_role(Role.AUDITOR).get(f"/v1/kits/{kit}").json()["job"] == str(job)


@pytest.mark.parametrize("path", ["kits?limit=200", "recalls", "search_tasks", "escalations", "transfers"])
def test_a_list_takes_as_many_queries_however_long_it_is(record: Record, path: str) -> None:
    few = _queries(record, path)
    for number in range(5):
        receive(record, f"K-T2-01{number:02}")
    for _ in range(3):
        body = {"id": str(uuid4()), "lot": "LT-26-009", "reason": "Soft springs."}
        assert record.as_role(Role.PARTS).post("/v1/recalls", body).status_code == 201
    assert _queries(record, path) == few


def _queries(record: Record, path: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert record.as_role(Role.QUALITY).get(f"/v1/{path}").status_code == 200
    return len(captured)
