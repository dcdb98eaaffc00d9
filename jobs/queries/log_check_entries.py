"""The entries of the entered company, checked job by job against the bytes as sent."""

from collections.abc import Iterator
from itertools import groupby
from typing import Any, Final
from uuid import UUID

import orjson
import psycopg
from django.db import connection

from jobs.domain.entry_check import EnrolledKey, EntryRow, JobHead, chain_faults, entry_faults
from jobs.domain.receipt import Opening
from jobs.domain.record_fault import Fault, FaultCode
from shops.domain.jwk import JwkError, read_public_jwk

_ENTRIES: Final = """
SELECT id, job_id, shop_id, position, kind, step, technician_id, key, device_seq, performed_at, received_at, skew_ms,
       token, payload, digest, previous, leaf
FROM entries WHERE company_id = %s ORDER BY job_id, position
"""
_JOBS: Final = """
SELECT j.id, j.head_position, j.chain_head, j.shop_id, j.unit_id, j.coupling_id, j.top_plate_id, p.digest, j.purpose,
       j.opened_at, ARRAY(SELECT t.from_shop_id FROM transfers t WHERE t.company_id = j.company_id AND t.job_id = j.id)
FROM jobs j LEFT JOIN procedure_revisions p ON p.company_id = j.company_id AND p.id = j.procedure_id
WHERE j.company_id = %s
"""
_KEYS: Final = "SELECT id, thumbprint, technician_id, jwk::text FROM device_keys WHERE company_id = %s"
_AT_ONCE: Final = 500


def entries_check(company: UUID) -> Iterator[Fault]:
    """Every fault of the entries, their chains and the keys that signed them. Holds one job at a time."""
    keys: dict[str, EnrolledKey] = {}
    yield from _read_keys(company, keys)
    jobs = {row[0]: row for row in _rows(_JOBS, company)}
    with psycopg.ServerCursor(_connection(), "entries_check") as cursor:
        cursor.itersize = _AT_ONCE
        rows = (EntryRow(*row) for row in cursor.execute(_ENTRIES, [company]))
        for job, found in groupby(rows, key=lambda entry: entry.job):
            entries = list(found)
            for entry in entries:
                yield from entry_faults(entry, keys)
            row = jobs.pop(job, None)
            if row is None:
                yield Fault(FaultCode.ROW_GONE, "jobs", job, "it has entries, but its row is gone")
            else:
                yield from chain_faults(entries, _head(company, row, entries[0]))
    for row in jobs.values():
        yield from chain_faults([], _head(company, row, None))


def _read_keys(company: UUID, keys: dict[str, EnrolledKey]) -> Iterator[Fault]:
    """Fill `keys` by thumbprint; a key that is not that of its thumbprint is a fault, and counts for nothing."""
    for row, thumbprint, technician, document in _rows(_KEYS, company):
        try:
            jwk = read_public_jwk(orjson.loads(document))
        except JwkError as error:
            yield Fault(FaultCode.KEY_CHANGED, "device_keys", row, f"it is no key: {error}")
            continue
        if jwk.thumbprint != thumbprint:
            yield Fault(FaultCode.KEY_CHANGED, "device_keys", row, f"the key is not the one of thumbprint {thumbprint}")
            continue
        keys[thumbprint] = EnrolledKey(jwk, technician)


def _head(company: UUID, row: tuple[Any, ...], first: EntryRow | None) -> JobHead:
    """The job's head. A job that moved since to another shop or revision began where its first entry says."""
    job, position, head, shop, unit, coupling, top_plate, procedure, purpose, opened_at, left = row
    shops = {shop, *left, first.shop} if first else {shop, *left}
    procedures = {procedure, _procedure_of(first)} - {None} if first else {procedure}
    openings = [
        Opening(job, company, where, unit, coupling, top_plate, digest, purpose, opened_at).digest()
        for where in shops
        for digest in procedures
    ]
    return JobHead(job, position, bytes(head), openings)


def _procedure_of(first: EntryRow) -> str | None:
    try:
        named = orjson.loads(first.payload).get("procedure")
    except (orjson.JSONDecodeError, AttributeError):
        return None
    return named if isinstance(named, str) else None


def _connection() -> psycopg.Connection[Any]:
    connection.ensure_connection()
    raw: psycopg.Connection[Any] = connection.connection
    return raw


def _rows(sql: str, company: UUID) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, [company])
        return list(cursor.fetchall())
