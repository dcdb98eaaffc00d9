"""The entries of a job as the fold takes them, and entries by id."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

import orjson

from jobs.domain.entry import Entry
from jobs.domain.entry_payload import read_entry
from jobs.queries.job_rows import StoredEntry, stored_entry
from shops.queries.prepared import run

_AFTER = """
SELECT payload, key, technician_id, received_at, skew_ms, encode(digest, 'hex'), previous, position FROM entries
WHERE company_id = %s AND job_id = %s AND position > %s ORDER BY position
"""
_STORED = """
SELECT id, job_id, position, received_at, digest, leaf, previous FROM entries
WHERE company_id = %s AND id = ANY(%s)
"""


def entries_after(company: UUID, job: UUID, position: int) -> tuple[list[Entry], bytes | None]:
    """The job's entries after `position`, in order of arrival; and what the first of them follows."""
    rows = run(_AFTER, (company, job, position))
    return [entry_of(*row[:6]) for row in rows], bytes(rows[0][6]) if rows else None


def entry_of(payload: str, key: str, technician: UUID, received_at: datetime, skew_ms: int, digest: str) -> Entry:
    """A stored entry: its payload was read strictly when it came in."""
    return Entry(read_entry(orjson.loads(payload)), key, technician, received_at, skew_ms, digest)


def stored_entries(company: UUID, ids: Sequence[UUID]) -> dict[UUID, StoredEntry]:
    rows = run(_STORED, (company, list(ids)))
    return {row[0]: stored_entry(row) for row in rows}
