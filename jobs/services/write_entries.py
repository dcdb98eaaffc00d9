"""The one statement that stores entries, what they earn, and the job's new chain head, together."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson

from jobs.domain.bench import Outcome
from jobs.domain.receipt import Receipt
from jobs.queries.job_rows import JobRow
from jobs.services.receive_entry import ReceivedEntry
from shops.queries.prepared import run

# Rows travel as one JSON text: building it costs a tenth of what lists of parameters cost in the driver.
_WRITE = """
WITH stored AS (
  INSERT INTO entries (company_id, job_id, shop_id, unit_id, id, position, kind, step, technician_id, key,
                       device_seq, performed_at, received_at, skew_ms, token, payload, digest, previous, leaf)
  SELECT %(company)s, %(job)s, %(shop)s, %(unit)s, e.id, e.position, e.kind, e.step, e.technician, e.key,
         e.device_seq, e.performed_at, %(received_at)s, e.skew_ms, e.token, e.payload, e.digest, e.previous, e.leaf
  FROM json_to_recordset(%(entries)s::json)
    AS e(id uuid, position int, kind text, step text, technician uuid, key text, device_seq bigint,
         performed_at timestamptz, skew_ms bigint, token text, payload text, digest bytea, previous bytea, leaf bytea)
), earned AS (
  INSERT INTO entry_credits (company_id, job_id, entry_id, credit, finding_codes, findings)
  SELECT %(company)s, %(job)s, c.entry, c.credit, c.codes, c.findings
  FROM json_to_recordset(%(outcomes)s::json) AS c(entry uuid, credit bool, codes text[], findings jsonb)
  ON CONFLICT (company_id, entry_id) DO UPDATE
    SET credit = EXCLUDED.credit, finding_codes = EXCLUDED.finding_codes, findings = EXCLUDED.findings
)
UPDATE jobs SET head_position = %(head_position)s, chain_head = %(chain_head)s, version = version + 1,
                facts_version = %(facts_version)s, summary = %(summary)s::jsonb, state = %(state)s
WHERE company_id = %(company)s AND id = %(job)s
"""


@dataclass(frozen=True, slots=True)
class Written:
    """A new entry with its receipt."""

    received: ReceivedEntry
    receipt: Receipt
    leaf: bytes


def receipts(job: JobRow, received: Sequence[ReceivedEntry], now: datetime) -> list[Written]:
    """Give each entry its place in the job's chain."""
    position, previous = job.head_position, job.chain_head
    written = []
    for one in received:
        position += 1
        receipt = Receipt(one.entry.id, job.id, position, one.jws.digest, previous, now, one.entry.skew_ms)
        previous = receipt.leaf()
        written.append(Written(one, receipt, previous))
    return written


def write_entries(
    company: UUID,
    job: JobRow,
    *,
    written: Sequence[Written],
    outcomes: Sequence[tuple[UUID, Outcome]],
    facts_version: int,
    summary: dict[str, object],
    state: str,
    now: datetime,
) -> None:
    """Store `written`, the `outcomes` that are new or have changed, and the job's projections."""
    last = written[-1] if written else None
    parameters = {
        "company": company,
        "job": job.id,
        "shop": job.shop,
        "unit": job.unit,
        "received_at": now,
        "entries": orjson.dumps([_entry_row(one) for one in written]).decode(),
        "outcomes": orjson.dumps([_outcome_row(entry, outcome) for entry, outcome in outcomes]).decode(),
        "head_position": last.receipt.position if last else job.head_position,
        "chain_head": last.leaf if last else job.chain_head,
        "facts_version": facts_version,
        "summary": orjson.dumps(summary).decode(),
        "state": state,
    }
    run(_WRITE, parameters)


def _entry_row(one: Written) -> dict[str, Any]:
    entry, receipt = one.received.entry, one.receipt
    signed = entry.signed
    return {
        "id": receipt.entry,
        "position": receipt.position,
        "kind": signed.kind.value,
        "step": signed.step,
        "technician": entry.technician,
        "key": entry.key,
        "device_seq": signed.device_seq,
        "performed_at": signed.performed_at,
        "skew_ms": entry.skew_ms,
        "token": one.received.token.decode("ascii"),
        "payload": one.received.jws.payload.decode(),
        "digest": _bytea(receipt.digest),
        "previous": _bytea(receipt.previous),
        "leaf": _bytea(one.leaf),
    }


def _bytea(value: bytes) -> str:
    return "\\x" + value.hex()


def _outcome_row(entry: UUID, outcome: Outcome) -> dict[str, Any]:
    return {
        "entry": entry,
        "credit": outcome.credit,
        "codes": sorted({finding.code for finding in outcome.findings}),
        "findings": [finding.document() for finding in outcome.findings],
    }
