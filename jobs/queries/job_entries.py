"""The entries of a job as the fold takes them, and entries by id."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson

from jobs.domain.entry import Entry
from jobs.domain.entry_payload import read_entry
from shops.queries.raw_cursor import raw_cursor

_AFTER = """
SELECT payload, key, technician_id, received_at, skew_ms, previous, position FROM entries
WHERE company_id = %s AND job_id = %s AND position > %s ORDER BY position
"""
_STORED = """
SELECT id, job_id, position, received_at, digest, leaf, previous FROM entries
WHERE company_id = %s AND id = ANY(%s)
"""


@dataclass(frozen=True, slots=True)
class StoredEntry:
    """What an entry's row says of its place."""

    id: UUID
    job: UUID
    position: int
    received_at: datetime
    digest: bytes
    leaf: bytes
    previous: bytes


def entries_after(company: UUID, job: UUID, position: int) -> tuple[list[Entry], bytes | None]:
    """The job's entries after `position`, in order of arrival; and what the first of them follows."""
    with raw_cursor() as cursor:
        rows = cursor.execute(_AFTER, (company, job, position), prepare=True).fetchall()
    return [entry_of(*row[:5]) for row in rows], bytes(rows[0][5]) if rows else None


def entry_of(payload: str, key: str, technician: UUID, received_at: datetime, skew_ms: int) -> Entry:
    """A stored entry: its payload was read strictly when it came in."""
    return Entry(read_entry(orjson.loads(payload)), key, technician, received_at, skew_ms)


def stored_entries(company: UUID, ids: Sequence[UUID]) -> dict[UUID, StoredEntry]:
    with raw_cursor() as cursor:
        rows: list[Any] = cursor.execute(_STORED, (company, list(ids)), prepare=True).fetchall()
    return {
        row[0]: StoredEntry(row[0], row[1], row[2], row[3], bytes(row[4]), bytes(row[5]), bytes(row[6])) for row in rows
    }
