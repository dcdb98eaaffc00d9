"""A plain cursor with server-side parameters on Django's connection and transaction: for hot paths."""

from typing import Any

import psycopg
from django.db import connections


def raw_cursor() -> psycopg.Cursor[tuple[Any, ...]]:
    wrapper = connections["default"]
    if wrapper.connection is None:
        wrapper.ensure_connection()
    return psycopg.Cursor(wrapper.connection)
