"""The row of a job, locked for an append or read for an answer."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from shops.queries.prepared import run_for_one

_COLUMNS = """j.id, j.shop_id, j.unit_id, j.coupling_id, j.top_plate_id, p.digest, j.purpose, j.state,
 j.head_position, j.chain_head, j.facts_version, j.follows_release, u.carrier_id, j.opened_at, j.opened_by,
 j.reference, j.version"""
_FROM = """FROM jobs j JOIN procedure_revisions p ON p.company_id = j.company_id AND p.id = j.procedure_id
 JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id WHERE j.company_id = %s AND j.id = %s"""
_READ = f"SELECT {_COLUMNS} {_FROM}"
_LOCK = f"SELECT {_COLUMNS} {_FROM} FOR UPDATE OF j"
_TWIN = "e.id, e.job_id, e.position, e.received_at, e.digest, e.leaf, e.previous"
_LOCK_FOR = f"""SELECT {_COLUMNS}, {_TWIN} {
    _FROM.replace("WHERE", "LEFT JOIN entries e ON e.company_id = j.company_id AND e.id = %s WHERE")
} FOR UPDATE OF j"""


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


def stored_entry(row: tuple[Any, ...]) -> StoredEntry:
    return StoredEntry(row[0], row[1], row[2], row[3], bytes(row[4]), bytes(row[5]), bytes(row[6]))


@dataclass(frozen=True, slots=True)
class JobRow:
    id: UUID
    shop: UUID
    unit: UUID
    coupling: UUID
    top_plate: UUID
    procedure: str  # digest
    purpose: str
    state: str
    head_position: int
    chain_head: bytes
    facts_version: int
    follows_release: UUID | None
    carrier: UUID
    opened_at: datetime
    opened_by: str
    reference: str | None
    version: int


def locked_job(company: UUID, job: UUID) -> JobRow | None:
    """The job, locked until the transaction ends; None if the company has no such job."""
    return _one(_LOCK, company, job)


def locked_job_for(company: UUID, job: UUID, entry: UUID) -> tuple[JobRow | None, StoredEntry | None]:
    """The job, locked, and the entry of this id if it is in the record already, in one round trip.

    A twin that is committed while this waits for the lock is not seen; storing it again then breaks its key, and the
    request is handled once more (see `RecordView.dispatch`).
    """
    row = run_for_one(_LOCK_FOR, (entry, company, job))
    if row is None:
        return None, None
    return _job(row[:17]), None if row[17] is None else stored_entry(row[17:])


def job_row(company: UUID, job: UUID) -> JobRow | None:
    return _one(_READ, company, job)


def _one(sql: str, company: UUID, job: UUID) -> JobRow | None:
    row = run_for_one(sql, (company, job))
    return None if row is None else _job(row)


def _job(row: tuple[Any, ...]) -> JobRow:
    cells = [*row[:9], bytes(row[9]), *row[10:]]
    return JobRow(*cells)
