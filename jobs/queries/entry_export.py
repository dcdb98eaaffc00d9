"""Streams a company's entries out of the data base, in constant memory, as NDJSON or CSV.

A COPY over a connection of its own, in a read-only snapshot that entered the company like any request: row-level
security holds for it as for every query. Rows leave as they come; at no time are more than a chunk of them here.
How many there will be is counted in the same snapshot first, so that a stream that broke off shows.
"""

from collections.abc import Iterator
from enum import Enum
from typing import Any, Final

import psycopg
from django.db import connections
from psycopg import IsolationLevel

from jobs.queries.entry_search import (
    CREDIT,
    FINDINGS,
    FROM,
    LINE_OF_JSON,
    ORDER,
    PAYLOAD,
    EntryFilter,
    conditions,
    utc,
    where,
)
from shops.domain.access import Grant

CHUNK: Final = 64 * 1024
CSV_COLUMNS: Final = (
    ("entry", "e.id"),
    ("job", "e.job_id"),
    ("position", "e.position"),
    ("unit", "e.unit_id"),
    ("unit_number", "u.number"),
    ("vin", "u.vin"),
    ("shop", "s.code"),
    ("technician", "e.technician_id"),
    ("by", "t.initials"),
    ("kind", "e.kind"),
    ("step", "e.step"),
    ("performed_at", utc("e.performed_at")),
    ("received_at", utc("e.received_at")),
    ("skew_ms", "e.skew_ms"),
    ("key", "e.key"),
    ("device_seq", "e.device_seq"),
    ("credit", CREDIT),
    ("finding_codes", "array_to_string(c.finding_codes, ' ')"),
    ("findings", FINDINGS),
    ("digest", "encode(e.digest, 'hex')"),
    ("previous", "encode(e.previous, 'hex')"),
    ("leaf", "encode(e.leaf, 'hex')"),
    ("payload", PAYLOAD),
    ("token", "e.token"),
)
_CSV_SELECT: Final = ", ".join(f'{sql} AS "{name}"' for name, sql in CSV_COLUMNS)
# One column and no character that a line of JSON can hold as quote or delimiter: COPY then adds nothing to a line.
_BARE: Final = r"FORMAT csv, QUOTE E'\x01', DELIMITER E'\x02'"

# Read along the index on arrival: a sort would write all of it to disk before the first row. And in one process, as
# long as it takes the reader, rather than by workers that appends would miss.
_IN_ORDER_OF_ARRIVAL: Final = "SET LOCAL enable_sort = off; SET LOCAL max_parallel_workers_per_gather = 0"


class ExportForm(Enum):
    """What is selected, how COPY writes it, and how a row ends (RFC 4180 asks CSV for CR LF)."""

    NDJSON = (LINE_OF_JSON, _BARE, b"\n")
    CSV = (_CSV_SELECT, "FORMAT csv, HEADER", b"\r\n")


class EntryExport:
    """An iterator over chunks of an export. Closing it, at any time, ends the query and the connection.

    `count` is how many entries the whole of it has. Errors of the data base come out of the constructor, or of
    the iteration once it has begun.
    """

    def __init__(self, grant: Grant, wanted: EntryFilter, form: ExportForm) -> None:
        self._connection = _own_connection()
        try:
            self._cursor = self._connection.cursor()
            self._cursor.execute("SELECT set_config('rebuild.company', %s, true)", [str(grant.company)])
            if not wanted.is_narrow:
                self._cursor.execute(_IN_ORDER_OF_ARRIVAL)
            clause, values = where(conditions(grant, wanted))
            self.count = self._count(clause, values)
            select, options, ending = form.value
            self._copying = self._cursor.copy(
                f"COPY (SELECT {select} {FROM}{clause}{ORDER}) TO STDOUT ({options})", values
            )
            self._chunks: Iterator[bytes] = _chunks(self._copying.__enter__(), ending)
        except BaseException:
            self.close()
            raise

    def _count(self, clause: str, values: list[Any]) -> int:
        row = self._cursor.execute(f"SELECT count(*) {FROM}{clause}", values).fetchone()
        return int(row[0]) if row else 0

    def __iter__(self) -> Iterator[bytes]:
        return self

    def __next__(self) -> bytes:
        try:
            return next(self._chunks)
        except BaseException:  # the end, or an error
            self.close()
            raise

    def stop(self) -> None:
        """Close it, and let the iteration end."""
        self.close()
        self._chunks = iter(())

    def close(self) -> None:
        self._connection.close()


def _own_connection() -> psycopg.Connection[Any]:
    """As the application's role, like the connection of the request."""
    parameters = connections["default"].get_connection_params()
    own = psycopg.connect(**{**parameters, "cursor_factory": psycopg.ClientCursor, "context": None})
    own.isolation_level = IsolationLevel.REPEATABLE_READ
    own.read_only = True
    return own


def _chunks(rows: psycopg.Copy, ending: bytes) -> Iterator[bytes]:
    """Rows, of which the server writes each with one LF at its end, gathered to chunks; libpq hands over one a time."""
    chunk = bytearray()
    for row in rows:
        chunk += row[:-1]
        chunk += ending
        if len(chunk) >= CHUNK:
            yield bytes(chunk)
            chunk.clear()
    if chunk:
        yield bytes(chunk)
