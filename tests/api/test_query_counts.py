"""How many statements the record's resources send to the data base, and that twice the rows cost no more.

Counted at the driver and where the hot path goes past its cursors; one of them finds the token and enters its company.
"""

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
import pytest
from django.db import transaction

from jobs.queries import folds
from jobs.services.sequence_log import sequence_log
from shops.domain.access import Role
from shops.queries.prepared import Statements
from tests.acts import PR_11, PR_12, Act, step
from tests.api import test_registry_query_counts as registry
from tests.api.routes import ROUTES
from tests.record import JOSE, Record, add_kit, add_unit

AUDITED = 1
"""Every read by an auditor is written down: one statement more than for others."""

LISTS = {
    "v1/jobs": 2,
    "v1/jobs/<uuid:job>/entries": 6,
    "v1/entries": 2 + AUDITED,
    "v1/releases": 2,
    "v1/procedure_revisions": 2,
    "v1/units/<uuid:unit>/holds": 3,
    "v1/kits": 2,
    "v1/jobs/<uuid:job>/claims": 3,
    "v1/jobs/<uuid:job>/withdrawals": 3,
    "v1/recalls": 2,
    "v1/search_tasks": 2,
    "v1/escalations": 2,
    "v1/transfers": 2,
    "v1/retention_rules": 1,
    "v1/legal_holds": 2,
    "v1/evidence_deletions": 2,
    "v1/web_hooks": 2,
    "v1/access_log": 2 + AUDITED,
    "v1/log/checkpoints": 2 + AUDITED,
    "v1/log/leaves": 2 + AUDITED,
    "v1/log/witnesses": 2 + AUDITED,
    "v1/device_chains": 5,
}
PAGED = {route.path for route in ROUTES if "limit" in getattr(route.handler, "query_parameters", ())}
ONE_JOB = {"steps": 5, "gate": 8, "offline_pack": 16}
APPEND = 3
"""Find the token; lock the job and look for a twin; store entry, credit and chain head."""
FIRST_APPEND = APPEND + 2
"""Entries and procedure are read where this process has not folded the job before."""
BATCH = APPEND + 1
"""Twins are looked for apart from the job."""
AVAILABILITY = 3
CHANGES = AVAILABILITY + 2
"""The events, and the name of the log that they stand in."""


@contextmanager
def counted(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    sent: list[str] = []

    def counting(execute: Any) -> Any:
        def counted(self: Any, *arguments: Any, **more: Any) -> Any:
            sent.append(str(arguments))
            return execute(self, *arguments, **more)

        return counted

    with monkeypatch.context() as patched:
        patched.setattr(psycopg.Cursor, "execute", counting(psycopg.Cursor.execute))
        patched.setattr(Statements, "run", counting(Statements.run))
        yield sent


def statements(monkeypatch: pytest.MonkeyPatch, call: Any, status: int = 200) -> tuple[int, Any]:
    with counted(monkeypatch) as sent:
        answer = call()
    assert answer.status_code == status, answer.content
    return len(sent), answer.json()


def more(record: Record, turn: int) -> None:
    """One more job, with entries, on a unit of its own; one more kit; one more hold on the first unit."""
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, f"4{turn}00")
        add_kit(record, "PR-11", f"K-T2-9{turn}00")
    job = record.open_job(unit=str(unit))
    record.play(job, PR_11[: 3 + turn])
    hold = {"id": str(uuid.uuid4()), "kind": "order", "reason": "Wait for the inspector"}
    answer = record.as_role(Role.LEAD).post(f"/v1/units/{record.units['PR-11']}/holds", hold)
    assert answer.status_code == 201, answer.content


def ask(record: Record, job: uuid.UUID, path: str) -> Any:
    is_audited = path in {"v1/entries", "v1/access_log"} or "log/" in path
    role = Role.AUDITOR if is_audited else Role.DISPATCH if "hooks" in path else Role.LEAD
    address = "/" + path.replace("<uuid:job>", str(job)).replace("<uuid:unit>", str(record.units["PR-11"]))
    return lambda: record.as_role(role).get(f"{address}?limit=200" if path in PAGED else address)


def test_lists_cost_the_same_when_their_rows_double(record: Record, monkeypatch: pytest.MonkeyPatch) -> None:
    job = record.open_job()
    record.play(job, PR_11[:4])
    more(record, 1)
    before = {path: statements(monkeypatch, ask(record, job, path)) for path in LISTS}
    record.play(job, PR_11[4:])
    record.release(job)
    for turn in range(2, 5):
        more(record, turn)
    after = {path: statements(monkeypatch, ask(record, job, path)) for path in LISTS}
    assert {path: number for path, (number, _) in before.items()} == LISTS
    assert {path: number for path, (number, _) in after.items()} == LISTS
    grown = {path for path in LISTS if len(after[path][1]["items"]) >= 2 * len(before[path][1]["items"])}
    assert {"v1/jobs", "v1/jobs/<uuid:job>/entries", "v1/entries", "v1/units/<uuid:unit>/holds", "v1/kits"} <= grown


def test_every_list_is_pinned_here_or_in_the_registers(standing: Record) -> None:
    pinned = {*LISTS, "v1/availability_changes", *(f"v1/{path}" for path in registry.COUNTS)}
    paths = {route.path for route in ROUTES if route.method == "GET" and route.path.startswith("v1/")}
    for path in paths:
        if "<" in path or path in pinned or path.endswith((".csv", ".ndjson")):
            continue
        answer = standing.as_role(Role.ADMINISTRATOR).get(f"/{path}")
        assert b'"items"' not in answer.content, path


@pytest.mark.parametrize("part", ONE_JOB)
def test_a_job_costs_the_same_however_long_its_record_is(
    record: Record, part: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = record.open_job()

    def call() -> Any:
        return record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/{part}")

    record.play(job, PR_11[:4])
    call()
    assert statements(monkeypatch, call)[0] == ONE_JOB[part]
    record.play(job, PR_11[4:])
    call()  # the kit that was issued is a new fact, read once
    assert statements(monkeypatch, call)[0] == ONE_JOB[part]


def test_an_append_costs_the_same_at_the_fourth_entry_and_at_the_fortieth(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = record.open_job("PR-12")
    sent = []
    for number, act in enumerate([*PR_12, *[Act("RM", "hold", {"reason": "Look."})] * 20]):
        token = record.sign(job, act, "PR-12")
        call = record.as_role(Role.TECHNICIAN)
        cost, _ = statements(monkeypatch, lambda call=call, token=token: call.post("/v1/entries", token, JOSE), 201)
        sent.append((number, cost))
    ordinary = [cost for number, cost in sent[4:] if not _writes_more(number)]
    assert len(ordinary) >= 33
    assert set(ordinary) == {APPEND}


def _writes_more(number: int) -> bool:
    """The last cycle has its outcome written, a kit its movement; that is a new fact, which the next append reads."""
    steps = [act.step for act in PR_12]
    kit, last_cycle = steps.index("issue-kit"), len(steps) - 1 - steps[::-1].index("verify")
    return number in {kit, kit + 1, last_cycle}


def test_the_first_append_of_a_process_folds_the_job_with_two_statements_more(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = record.open_job()
    record.play(job, PR_11[:6])
    folds._kept.clear()
    token = record.sign(job, step("cool"))
    post = record.as_role(Role.TECHNICIAN).post
    assert statements(monkeypatch, lambda: post("/v1/entries", token, JOSE), 201)[0] == FIRST_APPEND


@pytest.mark.parametrize("size", [2, 10, 100])
def test_a_batch_costs_the_same_whatever_its_size(record: Record, size: int, monkeypatch: pytest.MonkeyPatch) -> None:
    job = record.open_job()
    record.log(job, PR_11[0])
    tokens = [record.sign(job, Act("RM", "hold", {"reason": "Look."})).decode() for _ in range(size)]
    post = record.as_role(Role.TECHNICIAN).post
    cost, _ = statements(monkeypatch, lambda: post("/v1/entry_batches", {"entries": tokens}))
    assert cost == BATCH


@pytest.mark.parametrize("size", [1, 5])
def test_availability_of_many_units_costs_what_one_costs(
    record: Record, size: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    record.open_job()
    for turn in range(1, size):
        more(record, turn)
    units = [unit["id"] for unit in record.as_role(Role.LEAD).get("/v1/units?limit=200").json()["items"]]
    post = record.as_role(Role.DISPATCH).post
    cost, document = statements(monkeypatch, lambda: post("/v1/availability_queries", {"units": units}))
    assert cost == AVAILABILITY
    assert len(document["items"]) == len(units)


@pytest.mark.parametrize("size", [1, 5])
def test_many_changes_of_availability_cost_what_one_costs(
    record: Record, size: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    record.open_job()
    for turn in range(1, size):
        more(record, turn)
    sequence_log(company=record.company)
    get = record.as_role(Role.DISPATCH).get
    cost, document = statements(monkeypatch, lambda: get("/v1/availability_changes"))
    assert cost == CHANGES
    assert len(document["items"]) > size
