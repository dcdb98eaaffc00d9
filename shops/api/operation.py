"""Declares an operation once: who may call it, what it takes and answers, and how it can be refused."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from django.conf import settings
from django.utils.module_loading import import_string
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers

from shops.domain.access import Role
from shops.domain.errors import BadInput, NotAuthenticated, NotPermitted, Refusal

JSON = "application/json"


class ProblemError(serializers.Serializer[Any]):
    pointer = serializers.CharField(help_text="RFC 6901 pointer into the request; empty for the whole of it.")
    detail = serializers.CharField(help_text="What is wrong.")
    cure = serializers.CharField(help_text="What to do about it.")


class Problem(serializers.Serializer[Any]):
    """RFC 9457: a refusal. Nothing of the request has been stored."""

    type = serializers.CharField(help_text="Stable name of the kind of problem.")
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    request_id = serializers.CharField(required=False)
    errors = ProblemError(many=True, required=False)  # type: ignore[assignment]


def operation(
    *,
    summary: str,
    description: str = "",
    roles: frozenset[Role] | None,
    request: Any = None,
    answers: Mapping[int, Any] | Mapping[tuple[int, str], Any],
    problems: Sequence[type[Refusal]] = (),
    example: Any = None,
    request_example: Any = None,
    parameters: Sequence[OpenApiParameter | type[serializers.Serializer[Any]]] = (),
    tag: str,
    is_export: bool = False,
) -> Callable[[Any], Any]:
    """Decorate a handler. `roles` None means that no token is asked for; an export is logged, whoever asks.

    A query parameter that is not declared here is refused (`shops.api.view`), so every operation can be BadInput.
    """
    always = () if roles is None else (BadInput, NotAuthenticated, NotPermitted)
    responses = {**_answers(answers), **_refusals(dict.fromkeys([*problems, *always]))}
    examples = _examples(example, request_example, request, answers)

    def declare(handler: Any) -> Any:
        handler.roles = roles
        handler.is_operation = True
        handler.is_export = is_export
        handler.query_parameters = frozenset(_query_names(parameters))
        return extend_schema(
            operation_id=_operation_id(handler.__qualname__),
            summary=summary,
            description=description or summary,
            request=request,
            responses=responses,
            examples=examples,
            parameters=list(parameters),
            tags=[tag],
            auth=[{"token": []}] if roles is not None else [],  # type: ignore[list-item]
        )(handler)

    return declare


def _query_names(parameters: Sequence[OpenApiParameter | type[serializers.Serializer[Any]]]) -> Iterator[str]:
    """The names that may stand in the query string; a serializer's fields all do."""
    for parameter in parameters:
        if not isinstance(parameter, OpenApiParameter):
            yield from map(str, parameter().fields)
        elif parameter.location == OpenApiParameter.QUERY:
            yield parameter.name


def _operation_id(qualified_name: str) -> str:
    """`JobsView.get` becomes `get_jobs`."""
    view, _, method = qualified_name.partition(".")
    noun = re.sub(r"(?<!^)(?=[A-Z])", "_", view.removesuffix("View")).lower()
    return f"{method}_{noun}"


def _answers(answers: Mapping[int, Any] | Mapping[tuple[int, str], Any]) -> dict[Any, Any]:
    return dict(answers)


def _refusals(refusals: Iterable[type[Refusal]]) -> dict[Any, Any]:
    table = import_string(settings.PROBLEM_TABLE)
    by_status: dict[int, list[Any]] = {}
    for refusal in refusals:
        kind = table[refusal]
        by_status.setdefault(kind.status, []).append(kind)
    return {
        (status, "application/problem+json"): OpenApiResponse(
            Problem, description=" · ".join(f"{kind.name}: {kind.title}" for kind in kinds)
        )
        for status, kinds in sorted(by_status.items())
    }


def _examples(
    example: Any, request_example: Any, request: Any, answers: Mapping[int, Any] | Mapping[tuple[int, str], Any]
) -> list[OpenApiExample]:
    """Each under its media type; a text is the example of what is no JSON."""
    found = []
    if request_example is not None:
        media = next(iter(request)) if isinstance(request, Mapping) else JSON
        found.append(OpenApiExample("Request", value=request_example, request_only=True, media_type=media))
    for answer in answers if example is not None else ():
        status, media = answer if isinstance(answer, tuple) else (answer, JSON)
        if (media == JSON) is not isinstance(example, str):
            found.append(
                OpenApiExample(
                    "Answer", value=example, response_only=True, media_type=media, status_codes=[str(status)]
                )
            )
    return found
