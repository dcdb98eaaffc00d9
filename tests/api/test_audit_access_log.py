"""Who looked is itself on record."""

import re
from uuid import uuid4

import pytest

from config.docs import schema_document
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from tests.api.problems import refused
from tests.api.routes import ROUTES
from tests.record import Caller, build_record, issue_token


def log_lines(record, query="limit=200"):
    """As quality reads them, whose reads are not written down."""
    answer = record.as_role(Role.QUALITY).get(f"/v1/access_log?{query}")
    assert answer.status_code == 200
    return answer.json()["items"]


@pytest.mark.parametrize("path", ["/v1/entries?credit=false", "/v1/jobs", "/v1/me", "/v1/entries.csv?step=yoke"])
def test_every_request_of_an_auditor_is_written_down_with_its_query(record, path):
    answer = record.as_role(Role.AUDITOR).get(path, **{"X-Request-Id": "ask-1"})
    assert answer.status_code == 200
    (line,) = log_lines(record)
    address, _, query = path.partition("?")
    assert (line["method"], line["path"], line["query"]) == ("GET", address, query)
    assert (line["role"], line["label"], line["request_id"]) == ("auditor", "auditor", "ask-1")


def test_a_question_that_an_auditor_posts_is_a_read_too(record):
    body = {"units": [str(record.units["PR-11"])]}
    assert record.as_role(Role.AUDITOR).post("/v1/availability_queries", body).status_code == 200
    assert [line["path"] for line in log_lines(record)] == ["/v1/availability_queries"]


@pytest.mark.parametrize("form", ["ndjson", "csv"])
@pytest.mark.parametrize("role", [Role.QUALITY, Role.ADMINISTRATOR])
def test_every_export_is_written_down_whoever_takes_it(record, role, form):
    answer = record.as_role(role).get(f"/v1/entries.{form}")
    list(answer.streaming_content)
    assert [(line["role"], line["path"]) for line in log_lines(record)] == [(role.value, f"/v1/entries.{form}")]


def test_other_roles_reads_are_not_written_down(record):
    for role in (Role.LEAD, Role.DISPATCH, Role.ADMINISTRATOR):
        assert record.as_role(role).get("/v1/jobs").status_code == 200
    assert log_lines(record) == []


def test_a_request_that_is_refused_has_shown_nothing_and_leaves_no_line(record):
    auditor = record.as_role(Role.AUDITOR)
    refused(auditor.get(f"/v1/jobs/{uuid4()}"), 404, "not-found")
    refused(auditor.get("/v1/entries?colour=red"), 400, "bad-input")
    assert log_lines(record) == []


def test_an_address_with_a_nul_or_foreign_letters_is_answered_and_not_an_error(record):
    auditor = record.as_role(Role.AUDITOR)
    assert auditor.get("/v1/procedure_revisions/%00").status_code in {400, 404}
    assert auditor.get("/v1/entries?step=r%C3%BCcken%20x").status_code == 200
    assert [line["query"] for line in log_lines(record)] == ["step=r%C3%BCcken%20x"]


def test_the_log_is_paged_in_the_order_of_writing_and_found_by_token(record):
    auditor = record.as_role(Role.AUDITOR)
    for limit in (1, 2, 3):
        auditor.get(f"/v1/jobs?limit={limit}")
    whole = log_lines(record)
    assert [line["query"] for line in whole] == ["limit=1", "limit=2", "limit=3"]
    first = record.as_role(Role.QUALITY).get("/v1/access_log?limit=2").json()
    rest = record.as_role(Role.QUALITY).get(f"/v1/access_log?limit=2&cursor={first['next']}").json()
    assert [*first["items"], *rest["items"]] == whole
    assert log_lines(record, f"token={whole[0]['token']}") == whole
    assert log_lines(record, f"token={uuid4()}") == []


def test_another_companys_lines_are_not_seen(record):
    record.as_role(Role.AUDITOR).get("/v1/jobs")
    assert log_lines(build_record(procedures=())) == []


def test_a_token_for_some_shops_only_does_not_read_who_looked(record):
    with_scope = Caller(_scoped(record))
    refused(with_scope.get("/v1/access_log"), 403, "not-permitted")


def _scoped(record):
    from django.db import transaction

    with transaction.atomic():
        record.enter()
        return issue_token(record, Role.AUDITOR, TokenScope(shops=frozenset({record.shop})))


LISTED = {
    "job": "jobs",
    "unit": "units",
    "release": "releases",
    "shop": "shops",
    "carrier": "carriers",
    "technician": "technicians",
    "coupling": "couplings",
    "top_plate": "top_plates",
    "instrument": "instruments",
    "kit": "kits",
}
"""Where the id of an address can be had."""


def test_whatever_an_auditor_reads_leaves_its_line_on_every_route(record):
    """Each address with a real id: answered, and written down once; refused, and not."""
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    auditor, reader = record.as_role(Role.AUDITOR), record.as_role(Role.ADMINISTRATOR)
    ids = {name: reader.get(f"/v1/{path}").json()["items"][0]["id"] for name, path in LISTED.items()}
    ids["thumbprint"] = record.phones["RM"].key
    ids["digest"] = record.digests["PR-11"]
    reached = 0
    for route in ROUTES:
        if route.method != "GET" or Role.AUDITOR not in (getattr(route.handler, "roles", None) or ()):
            continue
        before = len(log_lines(record))
        path = re.sub(r"<\w+:(\w+)>", lambda found: str(ids.get(found[1], uuid4())), route.path)
        answer = auditor.get(f"/{path}")
        if answer.status_code == 200 and answer.streaming:
            list(answer.streaming_content)
        lines = log_lines(record)[before:]
        expected = [f"/{path}"] if answer.status_code == 200 else []
        assert [line["path"] for line in lines] == expected, (route.name, answer.status_code)
        reached += answer.status_code == 200
    assert reached > 40, "most routes were really read"


def test_what_leaves_as_a_file_is_an_export():
    """So that it is written down whoever takes it; a checkpoint is public, and no part of the record."""
    public = {"/v1/log/checkpoints/latest", "/livez", "/readyz", "/docs", "/openapi.yaml"}
    answers = {
        path: set(operations["get"]["responses"]["200"].get("content", {}))
        for path, operations in schema_document()["paths"].items()
        if "get" in operations and path not in public
    }
    files = {path for path, kinds in answers.items() if kinds - {"application/json"}}
    exports = {
        re.sub(r"<\w+:(\w+)>", r"{\1}", f"/{route.path}")
        for route in ROUTES
        if route.method == "GET" and getattr(route.handler, "is_export", False)
    }
    assert files
    assert files <= exports
