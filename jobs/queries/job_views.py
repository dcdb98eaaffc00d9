"""What people read of a job: its head, its steps with what each waits for, its entries, its gate."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import connection

from jobs.domain.bench import Bench
from jobs.domain.facts import Facts
from jobs.domain.job_state import StepState, step_states
from jobs.domain.procedure import Procedure, ReadingSpec, Step
from jobs.domain.receipt import utc_text
from jobs.queries.job_rows import JobRow
from shops.domain.access import Grant
from shops.queries.page import KeyKind, OrderColumn, PageAsk, Rows

_HEADS = """
SELECT j.id, j.state, j.purpose, j.reference, j.opened_at, j.opened_by, j.head_position, j.chain_head, j.version,
       j.summary, s.id, s.code, s.time_zone, u.id, u.number, u.vin, t.casting_serial, c.model, p.code, p.revision,
       p.digest
FROM jobs j
JOIN shops s ON s.company_id = j.company_id AND s.id = j.shop_id
JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id
JOIN top_plates t ON t.company_id = j.company_id AND t.id = j.top_plate_id
JOIN couplings c ON c.company_id = j.company_id AND c.id = j.coupling_id
JOIN procedure_revisions p ON p.company_id = j.company_id AND p.id = j.procedure_id
WHERE j.company_id = %(company)s
  AND (cardinality(%(shops)s::uuid[]) = 0 OR j.shop_id = ANY(%(shops)s::uuid[]))
  AND (cardinality(%(carriers)s::uuid[]) = 0 OR u.carrier_id = ANY(%(carriers)s::uuid[]))
"""


@dataclass(frozen=True, slots=True)
class JobFilter:
    """Narrows the list of jobs; None means any."""

    state: str | None = None
    shop: UUID | None = None
    unit: UUID | None = None
    reference: str | None = None


def scope_parameters(grant: Grant) -> dict[str, Any]:
    return {"company": grant.company, "shops": list(grant.shops), "carriers": list(grant.carriers)}


def job_head(grant: Grant, job: UUID) -> dict[str, Any] | None:
    rows = _heads(f"{_HEADS} AND j.id = %(job)s", {**scope_parameters(grant), "job": job})
    return next(iter(rows), None)


JOB_ORDER = (OrderColumn("j.opened_at", "opened_at", KeyKind.TIME), OrderColumn("j.id", "id", KeyKind.ID))
POSITION_ORDER = (OrderColumn("e.position", "position", KeyKind.NUMBER),)


def job_heads(grant: Grant, wanted: JobFilter, ask: PageAsk) -> Rows:
    """A page of jobs, newest first."""
    conditions, parameters = [], scope_parameters(grant)
    for column, value in (
        ("j.state", wanted.state),
        ("j.shop_id", wanted.shop),
        ("j.unit_id", wanted.unit),
        ("j.reference", wanted.reference),
    ):
        if value is not None:
            conditions.append(f" AND {column} = %({column[2:]})s")
            parameters[column[2:]] = value
    if ask.after is not None:
        conditions.append(" AND (j.opened_at, j.id) < (%(opened_at)s, %(id)s)")
        parameters |= {"opened_at": ask.after[0], "id": ask.after[1]}
    sql = f"{_HEADS}{''.join(conditions)} ORDER BY j.opened_at DESC, j.id DESC LIMIT %(limit)s"
    rows = list(_heads(sql, {**parameters, "limit": ask.limit + 1}))
    return _page(rows, ask, ("opened_at", "id"))


def _page(rows: list[dict[str, Any]], ask: PageAsk, key: tuple[str, ...]) -> Rows:
    items = rows[: ask.limit]
    more = len(rows) > ask.limit
    return Rows(items, tuple(items[-1][name] for name in key) if more else None)


def _heads(sql: str, parameters: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
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
        "summary": row[9] if isinstance(row[9], dict) else {},
        "shop": {"id": row[10], "code": row[11], "time_zone": row[12]},
        "unit": {"id": row[13], "number": row[14], "vin": row[15]},
        "casting_serial": row[16],
        "coupling": row[17],
        "procedure": {"code": row[18], "revision": row[19], "digest": row[20]},
    }


def steps_document(bench: Bench, job: JobRow) -> list[dict[str, Any]]:
    """Each step: what it is, its cautions first, what it waits for, who may do it, what it would undo."""
    states = {state.key: state for state in step_states(bench)}
    return [_step(step, states[step.key], bench, job) for step in bench.procedure.steps]


def _step(step: Step, state: StepState, bench: Bench, job: JobRow) -> dict[str, Any]:
    entry = bench.entries.get(state.credited_by) if state.credited_by else None
    return {
        "key": step.key,
        "cautions": [*bench.procedure.cautions, *step.cautions],
        "title": step.title,
        "instruction": step.instruction,
        "status": state.status.value,
        "credited_by": state.credited_by,
        "by": bench.initials(entry.technician) if entry else None,
        "waits_for": list(state.waits_for),
        "walled_in_by": list(state.walled_in_by),
        "would_undo": list(state.would_undo),
        "unread": list(state.unread),
        "scope": step.scope.value,
        "not_by": list(step.not_by),
        "may": who_may(step, bench, job),
        "readings": [_reading(step, spec, bench) for spec in step.readings],
        "cycles": _cycles(step, bench),
        "fasteners": [_fastener(f) for f in step.fasteners],
        "consumables": {c.key: list(c.allowed) for c in step.consumables},
        "kit_lines": list(step.kit_lines),
    }


def _fastener(fastener: Any) -> dict[str, Any]:
    return {
        "key": fastener.key,
        "title": fastener.title,
        "count": fastener.count,
        "thread": fastener.thread,
        "lubrication": fastener.lubrication,
        "torque": fastener.torque,
    }


def _cycles(step: Step, bench: Bench) -> dict[str, Any] | None:
    if step.verification is None:
        return None
    wanted = step.verification
    return {"passed": len(bench.cycles), "wanted": wanted.cycles, "observations": list(wanted.observations)}


def who_may(step: Step, bench: Bench, job: JobRow) -> list[str]:
    """Initials of the people who are qualified now and have done nothing that keeps them from it."""
    at = bench.last_entry.received_at if bench.last_entry else job.opened_at
    return sorted(
        person.initials
        for person in bench.facts.people.values()
        if person.is_qualified(step.scope.value, at) and bench.did(step.not_by, person.id) is None
    )


def _reading(step: Step, spec: ReadingSpec, bench: Bench) -> dict[str, Any]:
    found = bench.measured.get((step.key, spec.key))
    characteristic = spec.characteristic
    return {
        "characteristic": spec.key,
        "title": characteristic.title,
        "method": characteristic.method.value,
        "unit": characteristic.unit,
        "lower": _decimal(characteristic.limits.lower),
        "upper": _decimal(characteristic.limits.upper),
        "nominal": _decimal(characteristic.nominal),
        "rule": characteristic.rule.kind.value,
        "repeats": characteristic.repeats,
        "instruments": list(characteristic.instruments),
        "state": spec.state,
        "corrections_made": len(bench.corrected.get((step.key, spec.key), ())),
        "verdict": found.verdict.value if found else None,
        "value": _decimal(found.value) if found else None,
        "explanation": found.judgement.explanation if found and found.judgement else None,
    }


def _decimal(value: Any) -> str | None:
    """A limit or value for display; limits are written as decimals, so most come out exactly."""
    return None if value is None else f"{float(value):.6g}"


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
WHERE e.company_id = %s AND e.job_id = %s AND e.position > %s ORDER BY e.position LIMIT %s
"""


def job_entries(company: UUID, job: UUID, ask: PageAsk) -> Rows:
    after = ask.after[0] if ask.after else 0
    return _page(_entries(company, job, after, ask.limit + 1), ask, ("position",))


def all_job_entries(company: UUID, job: UUID) -> list[dict[str, Any]]:
    return _entries(company, job, 0, None)


def _entries(company: UUID, job: UUID, after: int, limit: int | None) -> list[dict[str, Any]]:
    with connection.cursor() as cursor:
        cursor.execute(_ENTRIES, [company, job, after, limit])
        return [_entry(row) for row in cursor.fetchall()]


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
        "findings": row[13],
    }


def people_document(facts: Facts) -> list[dict[str, str]]:
    return [{"id": str(person.id), "initials": person.initials} for person in facts.people.values()]
