"""Cursor pages over HTTP: `?cursor=&limit=` in, `{"items", "next"}` out."""

import binascii
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson
from drf_spectacular.utils import inline_serializer
from rest_framework import serializers

from shops.api.bodies import Body
from shops.domain.errors import BadInput, FieldProblem
from shops.queries.page import DEFAULT_LIMIT, LARGEST_LIMIT, KeyKind, OrderColumn, Page, PageAsk


class PageQuery(Body):
    """The parameters that every list takes."""

    cursor = serializers.CharField(
        required=False, max_length=1000, help_text="`next` of the page before; leave out for the first page."
    )
    limit = serializers.IntegerField(
        required=False, min_value=1, max_value=LARGEST_LIMIT, default=DEFAULT_LIMIT, help_text="Items a page."
    )


def page_ask(query: Mapping[str, Any], order: Sequence[OrderColumn]) -> PageAsk:
    """What a read `PageQuery` asks for; BadInput when the cursor is not one of ours for this list."""
    cursor = query.get("cursor")
    return PageAsk(query["limit"], None if cursor is None else read_cursor(cursor, order))


def page_document(page: Page) -> dict[str, Any]:
    return {
        "items": page.items,
        "next": None if page.next_after is None else write_cursor(page.next_after),
    }


def page_of(item: type[serializers.Serializer[Any]]) -> Any:
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


def read_cursor(cursor: str, order: Sequence[OrderColumn]) -> tuple[Any, ...]:
    try:
        texts = orjson.loads(urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        return tuple(_part(text, column.kind) for text, column in zip(texts, order, strict=True))
    except (binascii.Error, ValueError, TypeError):
        problem = FieldProblem(
            "/cursor", "This is no cursor of this list.", "Send `next` of the page before, unchanged."
        )
        raise BadInput(problems=[problem]) from None


def _part(text: Any, kind: KeyKind) -> Any:
    if not isinstance(text, str) or "\x00" in text:
        raise TypeError("the parts of a cursor are texts")
    if kind is KeyKind.ID:
        return UUID(text)
    if kind is KeyKind.TIME:
        return _aware(datetime.fromisoformat(text))
    return text


def _aware(time: datetime) -> datetime:
    if time.tzinfo is None:
        raise ValueError("a time in a cursor has its offset")
    return time
