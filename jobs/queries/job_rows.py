"""The row of a job, locked for an append or read for an answer."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from shops.queries.raw_cursor import raw_cursor

_COLUMNS = """j.id, j.shop_id, j.unit_id, j.coupling_id, j.top_plate_id, p.digest, j.purpose, j.state,
 j.head_position, j.chain_head, j.facts_version, j.follows_release, u.carrier_id, j.opened_at, j.opened_by,
 j.reference, j.version"""
_FROM = """FROM jobs j JOIN procedure_revisions p ON p.company_id = j.company_id AND p.id = j.procedure_id
 JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id WHERE j.company_id = %s AND j.id = %s"""
_READ = f"SELECT {_COLUMNS} {_FROM}"
_LOCK = f"SELECT {_COLUMNS} {_FROM} FOR UPDATE OF j"


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


def job_row(company: UUID, job: UUID) -> JobRow | None:
    return _one(_READ, company, job)


def _one(sql: str, company: UUID, job: UUID) -> JobRow | None:
    with raw_cursor() as cursor:
        row = cursor.execute(sql, (company, job), prepare=True).fetchone()
    return None if row is None else JobRow(*row[:9], bytes(row[9]), *row[10:])
