"""What people read of a job: its head, its steps with what each waits for, its entries, its gate."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import orjson
from django.db import connection

from jobs.domain.facts import Facts
from jobs.domain.procedure import Procedure
from jobs.domain.receipt import utc_text
from jobs.queries.job_reach import job_scope
from jobs.queries.time_windows import seen_of, time_windows
from shops.domain.access import Grant
from shops.queries.page import Condition, KeyKind, OrderColumn, PageAsk, Rows
from shops.queries.scope import is_id, when_given

_HEADS = """
SELECT j.id, j.state, j.purpose, j.reference, j.opened_at, j.opened_by, j.head_position, j.chain_head, j.version,
       j.summary, s.id, s.code, s.time_zone, u.id, u.number, u.vin, t.casting_serial, c.model, p.code, p.revision,
       p.digest
FROM jobs j
JOIN shops s ON s.company_id = j.company_id AND s.id = j.shop_id
JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id
JOIN top_plates t ON t.company_id = j.company_id AND t.id = j.top_plate_id
JOIN couplings c ON c.company_id = j.company_id AND c.id = j.coupling_id
JOIN procedure_revisions o ON o.company_id = j.company_id AND o.id = j.procedure_id
JOIN procedure_revisions p ON p.company_id = j.company_id AND p.digest = COALESCE(j.summary->>'procedure', o.digest)
WHERE """


@dataclass(frozen=True, slots=True)
class JobFilter:
    """Narrows the list of jobs; None means any."""

    state: str | None = None
    shop: UUID | None = None
    unit: UUID | None = None
    reference: str | None = None


def job_head(grant: Grant, job: UUID) -> dict[str, Any] | None:
    """None for a job out of the token's reach."""
    return next(_heads([*_reached(grant), is_id("j.id", job)]), None)


JOB_ORDER = (OrderColumn("j.opened_at", "opened_at", KeyKind.TIME), OrderColumn("j.id", "id", KeyKind.ID))
POSITION_ORDER = (OrderColumn("e.position", "position", KeyKind.NUMBER),)


def job_heads(grant: Grant, wanted: JobFilter, ask: PageAsk) -> Rows:
    """A page of jobs, newest first."""
    conditions = [
        *_reached(grant),
        *when_given("j.state = %s", wanted.state),
        *when_given("j.shop_id = %s", wanted.shop),
        *when_given("j.unit_id = %s", wanted.unit),
        *when_given("j.reference = %s", wanted.reference),
    ]
    if ask.after is not None:
        conditions.append(Condition("(j.opened_at, j.id) < (%s, %s)", ask.after))
    rows = list(_heads(conditions, " ORDER BY j.opened_at DESC, j.id DESC LIMIT %s", ask.limit + 1))
    return _page(rows, ask, ("opened_at", "id"))


def _reached(grant: Grant) -> list[Condition]:
    return [Condition("j.company_id = %s", (grant.company,)), *job_scope(grant)]


def _page(rows: list[dict[str, Any]], ask: PageAsk, key: tuple[str, ...]) -> Rows:
    items = rows[: ask.limit]
    more = len(rows) > ask.limit
    return Rows(items, tuple(items[-1][name] for name in key) if more else None)


def _heads(conditions: Sequence[Condition], tail: str = "", *values: int) -> Iterator[dict[str, Any]]:
    sql = _HEADS + " AND ".join(one.sql for one in conditions) + tail
    with connection.cursor() as cursor:
        cursor.execute(sql, [*(value for one in conditions for value in one.values), *values])
        for row in cursor.fetchall():
            yield _head(row)


def _head(row: tuple[Any, ...]) -> dict[str, Any]:
    return {
        "id": row[0],
        "state": row[1],
        "purpose": row[2],
        "reference": row[3],
        "opened_at": row[4],
        "opened_by": row[5],
        "entries": row[6],
        "chain_head": bytes(row[7]).hex(),
        "version": row[8],
        "summary": orjson.loads(row[9]),
        "shop": {"id": row[10], "code": row[11], "time_zone": row[12]},
        "unit": {"id": row[13], "number": row[14], "vin": row[15]},
        "casting_serial": row[16],
        "coupling": row[17],
        "procedure": {"code": row[18], "revision": row[19], "digest": row[20]},
    }


def procedure_document(procedure: Procedure) -> dict[str, Any]:
    return {
        "code": procedure.code,
        "revision": procedure.revision,
        "title": procedure.title,
        "digest": procedure.digest,
        "cautions": list(procedure.cautions),
    }


_ENTRIES = """
SELECT e.position, e.id, e.kind, e.step, t.initials, e.performed_at, e.received_at, e.skew_ms, e.token, e.payload,
       e.previous, e.leaf, COALESCE(c.credit, false), COALESCE(c.findings, '[]'::jsonb)
FROM entries e
JOIN technicians t ON t.company_id = e.company_id AND t.id = e.technician_id
LEFT JOIN entry_credits c ON c.company_id = e.company_id AND c.entry_id = e.id
WHERE e.company_id = %s AND e.job_id = %s AND e.position > %s{dates} ORDER BY e.position LIMIT %s
"""


def job_entries(grant: Grant, job: UUID, ask: PageAsk) -> Rows:
    """A page of the job's entries that arrived between the dates of the grant."""
    after = ask.after[0] if ask.after else 0
    return _page(_entries(grant, job, after, ask.limit + 1), ask, ("position",))


def all_job_entries(grant: Grant, job: UUID) -> list[dict[str, Any]]:
    return _entries(grant, job, 0, None)


def _entries(grant: Grant, job: UUID, after: int, limit: int | None) -> list[dict[str, Any]]:
    dates = [
        *when_given(" AND e.received_at >= %s", grant.records_from),
        *when_given(" AND e.received_at < %s", grant.records_to),
    ]
    sql = _ENTRIES.format(dates="".join(one.sql for one in dates))
    with connection.cursor() as cursor:
        cursor.execute(sql, [grant.company, job, after, *(value for one in dates for value in one.values), limit])
        rows = cursor.fetchall()
    windows = time_windows(grant.company, {row[1]: seen_of(orjson.loads(row[9])) for row in rows})
    return [{**_entry(row), "window": windows[row[1]].document()} for row in rows]


def _entry(row: tuple[Any, ...]) -> dict[str, Any]:
    return {
        "position": row[0],
        "entry": row[1],
        "kind": row[2],
        "step": row[3],
        "by": row[4],
        "performed_at": utc_text(row[5]),
        "received_at": utc_text(row[6]),
        "skew_ms": row[7],
        "token": row[8],
        "previous": bytes(row[10]).hex(),
        "leaf": bytes(row[11]).hex(),
        "credit": row[12],
        "findings": orjson.loads(row[13]),
    }


def people_document(facts: Facts) -> list[dict[str, str]]:
    return [{"id": str(person.id), "initials": person.initials} for person in facts.people.values()]
