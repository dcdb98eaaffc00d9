"""What the tests ask of a problem document."""

from typing import Any


def refused(answer: Any, status: int, name: str) -> dict[str, Any]:
    """The problem document of `answer`, which must be of this status and type."""
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    document: dict[str, Any] = answer.json()
    assert document["type"] == f"urn:rebuild-record:problem:{name}", document
    assert document["status"] == status
    return document


def pointers(document: dict[str, Any]) -> list[str]:
    """Where the problems are; each must say what is wrong and what cures it."""
    assert all(error["detail"] and error["cure"] for error in document["errors"])
    return [error["pointer"] for error in document["errors"]]


def without_request_id(answer: Any) -> dict[str, Any]:
    document: dict[str, Any] = answer.json()
    document.pop("request_id")
    return document
