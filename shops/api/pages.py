"""Cursor pages over HTTP: `?cursor=&limit=` in, `{"items", "next"}` out.

A cursor is the order key of the last item shown, as base64url of a JSON array of texts: clients pass it back
unread. What is not a cursor of the same list is refused.
"""

import binascii
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, inline_serializer
from rest_framework import serializers
from rest_framework.request import Request

from shops.api.bodies import Body, read_body
from shops.api.fields import Identifier, Whole
from shops.domain.errors import BadInput, FieldProblem
from shops.queries.page import DEFAULT_LIMIT, LARGEST_LIMIT, KeyKind, OrderColumn, PageAsk, Rows

_CURSOR_HELP = "`next` of the page before; leave out for the first page."
_TYPES: Mapping[KeyKind, type] = {KeyKind.TEXT: str, KeyKind.ID: UUID, KeyKind.TIME: datetime, KeyKind.NUMBER: int}
_BIGGEST = 2**63 - 1

PAGE_PARAMETERS = (
    OpenApiParameter("cursor", OpenApiTypes.STR, description=_CURSOR_HELP),
    OpenApiParameter("limit", {"type": "integer", "minimum": 1, "maximum": LARGEST_LIMIT, "default": DEFAULT_LIMIT}),
)


class PageQuery(Body):
    """The parameters that every list takes."""

    cursor = serializers.CharField(required=False, max_length=1000, help_text=_CURSOR_HELP)
    limit = Whole(
        required=False, min_value=1, max_value=LARGEST_LIMIT, default=DEFAULT_LIMIT, help_text="Items a page."
    )


class _OneId(Body):
    id = Identifier()


@dataclass(frozen=True, slots=True)
class Page:
    """Where a page starts and how long it may be; and the query string that it was read from."""

    limit: int
    after: tuple[Any, ...] | None
    parameters: Mapping[str, str]

    @classmethod
    def of(cls, request: Request, *key: type) -> "Page":
        """The page asked for, of a list ordered by columns of the types `key`. Raises BadInput."""
        parameters = request.query_params.dict()
        asked = read_body(PageQuery, {n: v for n, v in parameters.items() if n in ("cursor", "limit")})
        cursor = asked.get("cursor")
        return cls(asked["limit"], None if cursor is None else read_cursor(cursor, key), parameters)

    def uuid_filter(self, name: str) -> UUID | None:
        """The id in the parameter `name`, None without one; raises BadInput for anything else."""
        text = self.parameters.get(name)
        if text is None:
            return None
        try:
            found: UUID = read_body(_OneId, {"id": text})["id"]
        except BadInput as refusal:
            problem = refusal.problems[0]
            raise BadInput(problems=[FieldProblem(f"/{name}", problem.detail, problem.cure)]) from None
        return found


def page_of(
    rows: Sequence[Any],
    page: Page,
    key: Callable[[Any], tuple[Any, ...]],
    show: Callable[[Any], Any] | None = None,
) -> dict[str, Any]:
    """The answer from `page.limit + 1` rows or fewer; `key` is a row's order key, `show` its document."""
    items = list(rows[: page.limit])
    after = write_cursor(key(items[-1])) if len(rows) > page.limit else None
    return {"items": [show(item) for item in items] if show else items, "next": after}


def page_ask(query: Mapping[str, Any], order: Sequence[OrderColumn]) -> PageAsk:
    """What a read `PageQuery` asks for; BadInput when the cursor is not one of ours for this list."""
    cursor = query.get("cursor")
    kinds = [_TYPES[column.kind] for column in order]
    return PageAsk(query["limit"], None if cursor is None else read_cursor(cursor, kinds))


def page_document(rows: Rows) -> dict[str, Any]:
    return {
        "items": rows.items,
        "next": None if rows.next_after is None else write_cursor(rows.next_after),
    }


def page_schema(item: type[serializers.Serializer[Any]]) -> Any:
    """The schema of a page of `item`."""
    return inline_serializer(
        name=f"{item.__name__}Page",
        fields={
            "items": item(many=True),
            "next": serializers.CharField(
                allow_null=True, help_text="`cursor` of the next page; null on the last page."
            ),
        },
    )


def write_cursor(key: Sequence[Any]) -> str:
    texts = [part.isoformat() if isinstance(part, datetime) else str(part) for part in key]
    return urlsafe_b64encode(orjson.dumps(texts)).rstrip(b"=").decode()


def read_cursor(cursor: str, key: Sequence[type]) -> tuple[Any, ...]:
    """The order key in `cursor`, its parts of the types `key`. Raises BadInput."""
    try:
        texts = orjson.loads(urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        return tuple(_part(text, kind) for text, kind in zip(texts, key, strict=True))
    except (binascii.Error, ValueError, TypeError):
        problem = FieldProblem(
            "/cursor", "This is no cursor of this list.", "Send `next` of the page before, unchanged."
        )
        raise BadInput(problems=[problem]) from None


def _part(text: Any, kind: type) -> Any:
    if not isinstance(text, str) or "\x00" in text:
        raise TypeError("the parts of a cursor are texts")
    if kind is UUID:
        return UUID(text)
    if kind is datetime:
        return _aware(datetime.fromisoformat(text))
    return _whole(text) if kind is int else text


def _aware(time: datetime) -> datetime:
    if time.tzinfo is None:
        raise ValueError("a time in a cursor has its offset")
    return time


def _whole(text: str) -> int:
    if not text.isascii() or not text.removeprefix("-").isdigit():
        raise ValueError("a number in a cursor is written in digits")
    number = int(text)
    if abs(number) > _BIGGEST:
        raise ValueError("a number in a cursor fits its column")
    return number
