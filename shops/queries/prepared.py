"""Prepared statements with server-side parameters on Django's connection and transaction: for hot paths."""

from collections.abc import Mapping, Sequence
from typing import Any
from weakref import WeakKeyDictionary

import psycopg
from django.db import connections

Cursor = psycopg.Cursor[tuple[Any, ...]]
_cursors: WeakKeyDictionary[Any, Cursor] = WeakKeyDictionary()


def run(sql: str, parameters: Sequence[Any] | Mapping[str, Any]) -> Cursor:
    """Execute `sql`, prepared; fetch what it found before running another. Errors are Django's, as for its cursors."""
    wrapper = connections["default"]
    if wrapper.connection is None:
        wrapper.ensure_connection()
    cursor = _cursors.get(wrapper.connection)
    if cursor is None:
        cursor = _cursors[wrapper.connection] = psycopg.Cursor(wrapper.connection)
    with wrapper.wrap_database_errors:
        return cursor.execute(sql, parameters, prepare=True)
