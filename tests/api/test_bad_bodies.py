"""Bodies, media types, queries and addresses that cannot be: a problem document each, and no row."""

import uuid
from typing import Any

import pytest

from shops.domain.access import Role
from tests.api.handmade import Bench, deep, rows
from tests.api.problems import refused
from tests.record import JOSE, Record

MEGABYTE = 1024 * 1024


@pytest.mark.parametrize(
    ("path", "content"),
    [
        ("entries", JOSE),
        ("entry_previews", JOSE),
        ("releases", JOSE),
        ("entry_batches", "application/json"),
        ("jobs", "application/json"),
        ("procedure_revisions", "application/yaml"),
    ],
)
def test_ten_megabytes_are_too_large(bench: Bench, committed: Any, path: str, content: str) -> None:
    before = rows(bench.record)
    refused(bench.record.as_role(Role.LEAD).post(f"/v1/{path}", b"x" * (10 * MEGABYTE), content), 413, "too-large")
    assert rows(bench.record) == before


@pytest.mark.parametrize(
    ("path", "content"),
    [
        ("entries", "application/json"),
        ("entries", "text/plain"),
        ("entries", "multipart/form-data; boundary=x"),
        ("entries", "application/x-www-form-urlencoded"),
        ("entries", ""),
        ("entry_batches", JOSE),
        ("jobs", "text/plain"),
        ("procedure_revisions", "application/json"),
    ],
)
def test_another_media_type_is_refused(bench: Bench, committed: Any, path: str, content: str) -> None:
    before = rows(bench.record)
    refused(bench.record.as_role(Role.LEAD).post(f"/v1/{path}", bench.token(), content), 415, "unsupported-media")
    assert rows(bench.record) == before


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"entries": []},
        {"entries": "x"},
        {"entries": ["x"] * 201},
        {"entries": ["x"], "device_time": "2026-03-02T07:10:00"},
        {"entries": ["x"], "device_time": 7},
        {"entries": ["x"], "approved": True},
        [],
        None,
        "x",
        b"",
        b"{",
        b"\xff",
        b'{"entries": ["\\u0000"]}',
        b'{"entries": ["\\ud800"]}',
        b'{"entries": NaN}',
        deep(40).encode(),
        b"[" * 100_000 + b"]" * 100_000,
    ],
    ids=lambda body: repr(body)[:40],
)
def test_a_batch_that_is_none_is_refused_as_a_whole(bench: Bench, committed: Any, body: Any) -> None:
    before = rows(bench.record)
    caller = bench.record.as_role(Role.TECHNICIAN)
    refused(caller.post("/v1/entry_batches", body), 400, "bad-input")
    assert rows(bench.record) == before


UNKNOWN = "019ca000-0000-7000-8000-0000000fffff"
JOB_CHANGES: list[tuple[dict[str, Any], int, str]] = [
    ({"id": "4107"}, 400, "bad-input"),
    ({"shop": None}, 400, "bad-input"),
    ({"shop": UNKNOWN}, 404, "not-found"),
    ({"unit": UNKNOWN}, 404, "not-found"),
    ({"procedure": "PR-99"}, 400, "bad-input"),
    ({"procedure": "PR-12"}, 400, "bad-input"),
    ({"procedure": ""}, 400, "bad-input"),
    ({"revision": 0}, 400, "bad-input"),
    ({"revision": 7}, 400, "bad-input"),
    ({"revision": 2**31}, 400, "bad-input"),
    ({"revision": 2**70}, 400, "bad-input"),
    ({"revision": 4.5}, 400, "bad-input"),
    ({"purpose": "paint"}, 400, "bad-input"),
    ({"purpose": "follow_up"}, 400, "bad-input"),
    ({"reference": "WO\u0000"}, 400, "bad-input"),
    ({"reference": "x" * 101}, 400, "bad-input"),
    ({"approved": True}, 400, "bad-input"),
]


@pytest.mark.parametrize(("change", "status", "name"), JOB_CHANGES, ids=lambda value: repr(value)[:40])
def test_a_job_that_cannot_be_opened_leaves_nothing(
    record: Record, change: dict[str, Any], status: int, name: str
) -> None:
    before = rows(record)
    body = {**record.job_request(uuid.uuid4()), **change}
    refused(record.as_role(Role.DISPATCH).post("/v1/jobs", body), status, name)
    assert rows(record) == before


CLAIM_ENDS = [-1, 2**63, 2**70, 1.5, "x", None, True]


@pytest.mark.parametrize("last", CLAIM_ENDS)
def test_a_claim_ends_with_a_whole_number_only(record: Record, last: Any) -> None:
    caller, job = record.as_role(Role.TECHNICIAN), record.open_job()
    claim = {"id": str(uuid.uuid4()), "key": record.phones["RM"].key}
    assert caller.post(f"/v1/jobs/{job}/claims", claim).status_code == 201
    before = rows(record)
    body = {"id": str(uuid.uuid4()), "last_sequence": last}
    refused(caller.post(f"/v1/claims/{claim['id']}/ends", body), 400, "bad-input")
    assert rows(record) == before


YAML = {
    "nothing": b"",
    "a word": b"hello",
    "no UTF-8": b"\xff\xfe",
    "NUL": b"procedure: PR\x00-11",
    "not YAML": b"procedure: [",
    "a list": b"- a\n- b",
    "a Python object": b"!!python/object/apply:os.system ['true']",
    "aliases upon aliases": b"a: &a [x,x,x,x,x,x,x,x,x]\n"
    + b"\n".join(b"%c: &%c [*%c,*%c,*%c,*%c,*%c,*%c,*%c,*%c,*%c]" % (n, n, *([n - 1] * 9)) for n in range(98, 108)),
    "itself": b"a: &a [*a]",
    "deep": b"[" * 5000 + b"]" * 5000,
    "only a name": b"procedure: PR-11\nrevision: 4\n",
}


@pytest.mark.parametrize("name", YAML)
def test_a_procedure_that_is_none_is_not_published(bench: Bench, committed: Any, name: str) -> None:
    before = rows(bench.record)
    answer = bench.record.as_role(Role.QUALITY).post("/v1/procedure_revisions", YAML[name], "application/yaml")
    assert answer.status_code in {400, 422}, answer.content
    assert answer.json()["type"].endswith((":bad-input", ":procedure-refused"))
    assert rows(bench.record) == before


@pytest.mark.parametrize(
    "query",
    [
        "limit=0",
        "limit=201",
        "limit=x",
        "limit=1e2",
        "cursor=x",
        "cursor=W10",
        "cursor=%00",
        "state=x",
        "unit=4107",
        "colour=red",
        f"cursor={'A' * 2000}",
        f"limit={'9' * 400}",
    ],
)
def test_a_query_that_is_none_is_refused(bench: Bench, committed: Any, query: str) -> None:
    refused(bench.record.as_role(Role.AUDITOR).get(f"/v1/jobs?{query}"), 400, "bad-input")


def test_an_address_that_answers_nothing_is_a_problem_document(bench: Bench, committed: Any) -> None:
    for path in ("/v1/trucks", "/v1/jobs/4107", "/", "/v1/jobs/%00", "/v1/entries/"):
        refused(bench.record.as_role(Role.LEAD).get(path), 404, "not-found")


def test_a_method_that_a_resource_does_not_have_is_a_problem_document(bench: Bench, committed: Any) -> None:
    caller = bench.record.as_role(Role.LEAD)
    refused(caller.send("DELETE", f"/v1/jobs/{bench.job}"), 405, "method-not-allowed")
    refused(caller.send("PUT", "/v1/entries", bench.token(), JOSE), 405, "method-not-allowed")
