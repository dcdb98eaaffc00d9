"""Rows of logged tables as their leaves need them: every column, times as text, no number through a float."""

import json
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

import psycopg
from django.db import connection
from psycopg.adapt import Loader
from psycopg.rows import DictRow, dict_row
from psycopg.types.json import set_json_loads
from psycopg.types.string import TextLoader

from jobs.domain.log_leaf import LOGGED_TABLES, row_leaf
from jobs.queries.log import LoggedRow, leaves_between

_TIME: Final = re.compile(r"(\d{4}-\d\d-\d\d) (\d\d:\d\d:\d\d)(?:\.(\d{1,6}))?\+00")
_BY_ID: Final = """
SELECT t.* FROM unnest(%s::uuid[]) AS wanted(id) CROSS JOIN LATERAL (
  SELECT * FROM {table} WHERE company_id = %s AND id = wanted.id LIMIT 1) t
"""
REHASH_BATCH: Final = 2000
_LOGGED: Final = frozenset(LOGGED_TABLES)


class _TimeLoader(Loader):
    """PostgreSQL's text in UTC as RFC 3339 with six decimals; what is no such time ("infinity") stays its text."""

    def load(self, data: Any) -> str:
        text = bytes(data).decode()
        found = _TIME.fullmatch(text)
        return f"{found[1]}T{found[2]}.{found[3] or '':0<6}Z" if found else text


def _json(text: str | bytes) -> Any:
    return json.loads(text, parse_float=Decimal)


def _row_cursor() -> psycopg.Cursor[DictRow]:
    connection.ensure_connection()
    cursor = psycopg.Cursor(connection.connection, row_factory=dict_row)
    cursor.adapters.register_loader("timestamptz", _TimeLoader)
    cursor.adapters.register_loader("uuid", TextLoader)
    set_json_loads(_json, cursor)
    return cursor


def rows_by_id(company: UUID, table: str, ids: Collection[UUID]) -> Iterator[Mapping[str, Any]]:
    """The rows of a logged table, in no order; those that are not there are left out. One query."""
    if table not in _LOGGED:
        return
    with _row_cursor() as cursor:
        yield from cursor.execute(_BY_ID.format(table=table), (list(ids), company))


def leaves_by_row(company: UUID, rows: Sequence[tuple[str, UUID]]) -> dict[tuple[str, UUID], bytes]:
    """The leaf hash of each (table, id) as the row stands now, without those that are not there. A query a table."""
    wanted: dict[str, set[UUID]] = {}
    for table, row in rows:
        wanted.setdefault(table, set()).add(row)
    return {
        (table, UUID(row["id"])): row_leaf(table, row)
        for table, ids in wanted.items()
        for row in rows_by_id(company, table, ids)
    }


def rehashed_leaves(company: UUID, first: int, end: int) -> Iterator[tuple[LoggedRow, bytes | None]]:
    """The leaves first .. end - 1 as stored, each with the leaf hash of its row as it stands now (None: no row)."""
    for start in range(first, end, REHASH_BATCH):
        stored = leaves_between(company, start, min(start + REHASH_BATCH, end))
        now = leaves_by_row(company, [(leaf.table, leaf.row) for leaf in stored])
        for leaf in stored:
            yield leaf, now.get((leaf.table, leaf.row))
