"""Pages of rows in a stable order, found by the key of the row before: none is skipped or shown twice."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

from django.db import connection

from shops.domain.errors import NotFound

DEFAULT_LIMIT = 50
LARGEST_LIMIT = 200


class KeyKind(Enum):
    """What an order column holds; the value is its SQL type."""

    TEXT = "text"
    ID = "uuid"
    TIME = "timestamptz"
    NUMBER = "bigint"


@dataclass(frozen=True, slots=True)
class OrderColumn:
    """A column that orders a listing: its SQL, its name in the row, its kind."""

    sql: str
    name: str
    kind: KeyKind


@dataclass(frozen=True, slots=True)
class Listing:
    """What is listed: a SELECT up to its FROM clause, and an order whose last column is unique."""

    select: str
    order: tuple[OrderColumn, ...]


@dataclass(frozen=True, slots=True)
class Condition:
    """A part of WHERE, and the values of its placeholders."""

    sql: str
    values: tuple[Any, ...] = ()


@dataclass(frozen=True, slots=True)
class PageAsk:
    """How many rows, and after which order key."""

    limit: int = DEFAULT_LIMIT
    after: tuple[Any, ...] | None = None


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows, and the order key to go on after; None on the last page."""

    items: list[dict[str, Any]]
    next_after: tuple[Any, ...] | None


def fetch_page(listing: Listing, conditions: Sequence[Condition], ask: PageAsk) -> Rows:
    """One query, however many rows there are."""
    if ask.after is not None:
        conditions = [*conditions, _after(listing, ask.after)]
    order = ", ".join(column.sql for column in listing.order)
    tail = Condition(f" ORDER BY {order} LIMIT %s", (ask.limit + 1,))
    rows = _fetch(listing.select + _where(conditions) + tail.sql, [*_values(conditions), *tail.values])
    items = rows[: ask.limit]
    more = len(rows) > ask.limit
    return Rows(items, tuple(items[-1][column.name] for column in listing.order) if more else None)


def fetch_one(listing: Listing, conditions: Sequence[Condition]) -> dict[str, Any]:
    """The one row that meets the conditions; raises NotFound."""
    rows = _fetch(listing.select + _where(conditions) + " LIMIT 1", _values(conditions))
    if not rows:
        raise NotFound
    return rows[0]


def _after(listing: Listing, key: tuple[Any, ...]) -> Condition:
    columns = ", ".join(column.sql for column in listing.order)
    places = ", ".join(f"%s::{column.kind.value}" for column in listing.order)
    return Condition(f"({columns}) > ({places})", key)


def _where(conditions: Sequence[Condition]) -> str:
    return " WHERE " + " AND ".join(condition.sql for condition in conditions) if conditions else ""


def _values(conditions: Sequence[Condition]) -> list[Any]:
    return [value for condition in conditions for value in condition.values]


def _fetch(sql: str, values: Sequence[Any]) -> list[dict[str, Any]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
