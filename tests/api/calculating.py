"""Asking for a calculation, and insisting on an answer or on refusals with their places."""

from typing import Any

from shops.domain.access import Role
from tests.record import Record


def ask(record: Record, kind: str, body: dict[str, Any]) -> Any:
    return record.as_role(Role.TECHNICIAN).post(f"/v1/calculations/{kind}", body)


def answer(record: Record, kind: str, body: dict[str, Any]) -> dict[str, Any]:
    found = ask(record, kind, body)
    assert found.status_code == 200, found.content
    document: dict[str, Any] = found.json()
    return document


def pointers(record: Record, kind: str, body: dict[str, Any]) -> list[str]:
    found = ask(record, kind, body)
    assert found.status_code == 400, found.content
    errors = found.json()["errors"]
    assert all(error["detail"] and error["cure"] for error in errors)
    return [error["pointer"] for error in errors]
