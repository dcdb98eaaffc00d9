"""A plain cursor with server-side parameters on Django's connection and transaction: for hot paths."""

from typing import Any

import psycopg
from django.db import connection


def raw_cursor() -> psycopg.Cursor[tuple[Any, ...]]:
    connection.ensure_connection()
    return psycopg.Cursor(connection.connection)
