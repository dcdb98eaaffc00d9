"""A query string is read strictly everywhere: what is misspelt or said twice is refused, never left out without a word."""

from typing import Any

import pytest

from shops.domain.access import Role
from tests.api.problems import pointers, refused
from tests.api.routes import ROUTES, Route
from tests.record import Caller, Record

ASKED_FOR_A_TOKEN = [route for route in ROUTES if getattr(route.handler, "roles", None)]


def call(record: Record, route: Route, query: str) -> Any:
    caller = record.as_role(min(route.handler.roles))
    content = "application/json"
    return (
        caller.get(route.address() + query)
        if route.method == "GET"
        else caller.send(route.method, route.address() + query, {}, content)
    )


@pytest.mark.parametrize("route", ASKED_FOR_A_TOKEN, ids=lambda route: route.name)
def test_a_parameter_that_an_operation_does_not_know_is_named_with_those_that_it_knows(
    standing: Record, route: Route
) -> None:
    problem = refused(call(standing, route, "?techncian=RM"), 400, "bad-input")
    assert pointers(problem) == ["/techncian"]
    cure = problem["errors"][0]["cure"]
    assert all(name in cure for name in route.handler.query_parameters)


@pytest.mark.parametrize(
    "route", [route for route in ASKED_FOR_A_TOKEN if route.handler.query_parameters], ids=lambda route: route.name
)
def test_a_parameter_that_is_given_twice_is_refused(standing: Record, route: Route) -> None:
    for name in route.handler.query_parameters:
        problem = refused(call(standing, route, f"?{name}=1&{name}=1"), 400, "bad-input")
        assert pointers(problem) == [f"/{name}"]
        assert problem["errors"][0]["cure"] == "Give it once."


def test_a_slip_in_a_filter_and_a_repeated_one_are_listed_together(standing: Record) -> None:
    auditor = standing.as_role(Role.AUDITOR)
    problem = refused(auditor.get("/v1/entries?limit=1&limit=2&techncian=RM&step"), 400, "bad-input")
    assert pointers(problem) == ["/limit", "/techncian"]


def test_a_stream_is_refused_before_it_begins(standing: Record) -> None:
    auditor = standing.as_role(Role.AUDITOR)
    for address in ("entries.ndjson", "entries.csv"):
        assert pointers(refused(auditor.get(f"/v1/{address}?techncian=RM"), 400, "bad-input")) == ["/techncian"]


def test_whoever_has_no_token_learns_no_parameters(standing: Record) -> None:
    assert "errors" not in refused(Caller(None).get("/v1/entries?techncian=RM"), 401, "not-authenticated")


def test_a_query_of_a_thousand_parameters_is_refused_as_any_other(standing: Record) -> None:
    query = "&".join(f"a{n}=1" for n in range(1001))
    refused(standing.as_role(Role.AUDITOR).get(f"/v1/entries?{query}"), 400, "bad-input")


def test_names_are_shown_as_pointers_and_cut(standing: Record) -> None:
    answer = standing.as_role(Role.AUDITOR).get(f"/v1/jobs?a/b~c=1&{'x' * 500}=1&=1")
    assert pointers(refused(answer, 400, "bad-input")) == ["/a~1b~0c", "/" + "x" * 100, "/"]


def test_a_refused_question_of_an_auditor_leaves_no_row_of_who_looked(record: Record) -> None:
    auditor = record.as_role(Role.AUDITOR)
    refused(auditor.get("/v1/jobs?techncian=RM"), 400, "bad-input")
    asked = auditor.get("/v1/access_log").json()["items"]
    assert not [row for row in asked if row["path"] == "/v1/jobs"]
