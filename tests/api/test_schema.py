"""The OpenAPI document is the API: generated without a warning, committed, complete, and told by the demo world."""

import json
import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from drf_spectacular.drainage import GENERATOR_STATS, reset_generator_stats
from drf_spectacular.validation import validate_schema

from config.docs import schema_document
from config.problems import TABLE
from tests.api.routes import ROUTES
from tests.openapi import DOCUMENT, generated

METHODS = {"get", "post", "put", "patch", "delete"}
Operation = dict[str, Any]


@cache
def document() -> dict[str, Any]:
    return schema_document()


def operations() -> Iterator[tuple[str, Operation]]:
    for path, item in document()["paths"].items():
        for method, operation in item.items():
            if method in METHODS:
                yield f"{method.upper()} {path}", operation


OPERATIONS = dict(operations())


def test_the_committed_document_is_the_generated_one() -> None:
    assert DOCUMENT.read_bytes() == generated(), "run: python -m tests.openapi"


def test_the_document_is_generated_without_a_warning() -> None:
    reset_generator_stats()
    schema_document()
    assert not GENERATOR_STATS._warn_cache
    assert not GENERATOR_STATS._error_cache


def test_the_document_is_openapi_3_1() -> None:
    assert document()["openapi"].startswith("3.1.")
    validate_schema(document())


def test_every_route_is_in_the_document() -> None:
    told = {re.sub(r"{\w+}", "{}", name) for name in OPERATIONS}
    served = {
        f"{route.method} /{re.sub(r'<[^>]+>', '{}', route.path)}"
        for route in ROUTES
        if route.path not in {"openapi.yaml", "docs"}
    }
    assert told == served


def test_no_two_operations_have_one_name() -> None:
    names = [operation["operationId"] for operation in OPERATIONS.values()]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("name", OPERATIONS)
def test_an_operation_says_what_it_does_and_how_it_is_refused(name: str) -> None:
    operation = OPERATIONS[name]
    assert operation["summary"]
    assert operation["tags"]
    refusals = {status: answer for status, answer in operation["responses"].items() if status >= "400"}
    if operation.get("security"):
        assert {"401", "403"} <= refusals.keys()
    for status, answer in refusals.items():
        if status != "503":
            assert list(answer["content"]) == ["application/problem+json"], status
            assert answer["description"], status


@pytest.mark.parametrize("name", OPERATIONS)
def test_an_operation_has_examples_of_what_it_takes_and_answers(name: str) -> None:
    operation = OPERATIONS[name]
    answers = [answer for status, answer in operation["responses"].items() if status < "300"]
    assert answers
    contents = [found for answer in answers for found in answer.get("content", {}).items()]
    if {status for status in operation["responses"] if status < "300"} != {"204"}:
        as_files = {"application/zip", "application/pdf"}
        assert any("examples" in content or media in as_files for media, content in contents)
    if body := operation.get("requestBody"):
        assert all("examples" in content for content in body["content"].values())


def test_every_kind_of_problem_can_be_met_somewhere() -> None:
    told = " ".join(
        answer["description"] for operation in OPERATIONS.values() for answer in operation["responses"].values()
    )
    assert [kind.name for kind in TABLE.values() if f"{kind.name}: " not in told] == []


def test_examples_come_from_the_invented_world_only() -> None:
    examples = json.dumps([operation["responses"] for operation in OPERATIONS.values()])
    for vin in re.findall(r'"vin": "([^"]+)"', examples):
        assert vin.startswith("ZZZ"), vin
    assert "example.com" not in examples
    assert "string" not in re.findall(r'"value": "([^"]*)"', examples)
