"""One view for each calculation: a body in, an answer out, nothing stored."""

from collections.abc import Callable
from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from shops.api.bodies import Body, read_body
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY
from shops.domain.errors import BadInput, TooLarge, UnsupportedMedia

TAG = "Calculations"
NOTE = "A check on what people type and read; it does not replace the coupling maker's current instructions."


def calculation_view(
    name: str,
    *,
    summary: str,
    description: str,
    body: type[Body],
    answer: type[Any],
    compute: Callable[[dict[str, Any]], dict[str, Any]],
    example: dict[str, Any],
) -> type[RecordView]:
    """The view called `name`. The example's answer is the one that `compute` gives, so it cannot be wrong."""

    def post(self: RecordView, request: Request) -> Response:  # noqa: ARG001
        return Response(compute(read_body(body, request.data)))

    post.__qualname__ = f"{name}.post"
    declared = operation(
        summary=summary,
        description=f"{description} {NOTE}",
        roles=EVERYBODY,
        request=body,
        request_example=example,
        answers={200: answer},
        example=compute(read_body(body, example)),
        problems=[BadInput, TooLarge, UnsupportedMedia],
        tag=TAG,
    )(post)
    return type(name, (RecordView,), {"post": declared, "__module__": __name__})
