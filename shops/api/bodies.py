"""Request bodies and query strings, read strictly: every problem at once, with its place and its cure."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from django.core.exceptions import TooManyFieldsSent
from django.http import QueryDict
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail
from rest_framework.request import Request

from shops.domain.errors import BadInput, FieldProblem

_OTHERWISE = "Correct this member and send it again."
CURES: Mapping[str, str] = {
    "required": "Send this member.",
    "null": "Send a value; null is not one here.",
    "blank": "Write something here.",
    "unknown": "Leave it out, or look for the right name in the documentation.",
    "max_length": "Make it shorter.",
    "min_length": "Send more of it.",
    "max_value": "Send a smaller number.",
    "min_value": "Send a larger number.",
    "invalid_choice": "Use one of the values named.",
    "not_a_text": "Send a JSON text.",
    "not_an_id": "Send a UUID such as 019514a2-7c00-7000-8000-000000004107.",
    "not_a_time": "Write it with its offset, such as 2026-03-02T07:10:00-06:00.",
    "empty": "Name at least one.",
    "not_a_list": "Send a JSON array.",
    "null_characters_not_allowed": "Send plain text without control characters.",
}


class Body(serializers.Serializer[Any]):
    """A request body or query. A member that is not declared is refused, so typing errors are seen."""

    def to_internal_value(self, data: Any) -> Any:
        found: dict[Any, Any] = {}
        if isinstance(data, Mapping):
            unknown = [name for name in data if name not in self.fields]
            found = {name: [ErrorDetail("There is no such member.", "unknown")] for name in unknown}
        try:
            value = super().to_internal_value(data)
        except serializers.ValidationError as error:
            raise serializers.ValidationError({**found, **error.detail}) from None  # type: ignore[dict-item]
        if found:
            raise serializers.ValidationError(found)
        return value


def read_body(kind: type[Body], data: Any, *, partial: bool = False) -> dict[str, Any]:
    """The members of `data`, checked; with `partial`, of those only that were sent. Raises BadInput."""
    body = kind(data=data, partial=partial)
    if not body.is_valid():
        raise BadInput(problems=list(_problems(body.errors)))
    return dict(body.validated_data)


def read_query(kind: type[Body], request: Request) -> dict[str, Any]:
    """The values of the query string, checked; names and repetitions the base view checks. Raises BadInput."""
    return read_body(kind, request.query_params.dict())


def require_known_once(query_string: str, known: Collection[str]) -> None:
    """Raises BadInput, naming every parameter that is not `known` or is given more than once.

    A filter with a slip in its name, or the first of two, would otherwise be left out without a word, and the
    answer taken for what was asked.
    """
    if query_string and (problems := list(_unknown_or_repeated(query_string, known))):
        raise BadInput(problems=problems)


def _unknown_or_repeated(query_string: str, known: Collection[str]) -> Iterator[FieldProblem]:
    try:
        given = QueryDict(query_string)
    except TooManyFieldsSent:
        yield FieldProblem("", "There are more parameters than anything here takes.", _known_ones(known))
        return
    for name, values in given.lists():
        if name not in known:
            yield FieldProblem(f"/{_escaped(name)}", "There is no such parameter.", _known_ones(known))
        elif len(values) > 1:
            yield FieldProblem(f"/{name}", f"It is given {len(values)} times.", "Give it once.")


def _known_ones(known: Collection[str]) -> str:
    return f"Known here: {', '.join(sorted(known))}." if known else "Leave it out: no parameters are known here."


def _problems(found: Any, pointer: str = "") -> Iterator[FieldProblem]:
    if isinstance(found, Mapping):
        for name, inner in found.items():
            yield from _problems(inner, pointer if name == "non_field_errors" else f"{pointer}/{_escaped(name)}")
    elif isinstance(found, list):
        for at, inner in enumerate(found):
            nested = isinstance(inner, Mapping | list)
            yield from _problems(inner, f"{pointer}/{at}" if nested else pointer)
    else:
        yield FieldProblem(pointer, str(found), CURES.get(getattr(found, "code", ""), _OTHERWISE))


def _escaped(name: Any) -> str:
    """RFC 6901, section 3; cut, since the name is the caller's."""
    return str(name)[:100].replace("~", "~0").replace("/", "~1")
