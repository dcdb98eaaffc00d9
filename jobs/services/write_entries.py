"""The one statement that stores entries, what they earn, and the job's new chain head, together."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

import orjson

from jobs.domain.bench import Outcome
from jobs.domain.receipt import Receipt
from jobs.queries.job_rows import JobRow, raw_cursor
from jobs.services.receive_entry import ReceivedEntry

_WRITE = """
WITH stored AS (
  INSERT INTO entries (company_id, job_id, shop_id, unit_id, id, position, kind, step, technician_id, key,
                       device_seq, performed_at, received_at, skew_ms, token, payload, digest, previous, leaf)
  SELECT %(company)s::uuid, %(job)s::uuid, %(shop)s::uuid, %(unit)s::uuid, e.id, e.position, e.kind, e.step,
         e.technician, e.key, e.device_seq, e.performed_at, %(received_at)s::timestamptz, e.skew_ms, e.token,
         e.payload, e.digest, e.previous, e.leaf
  FROM unnest(%(ids)s::uuid[], %(positions)s::int[], %(kinds)s::text[], %(steps)s::text[], %(technicians)s::uuid[],
              %(keys)s::text[], %(sequences)s::bigint[], %(performed)s::timestamptz[], %(skews)s::bigint[],
              %(tokens)s::text[], %(payloads)s::text[], %(digests)s::bytea[], %(previous)s::bytea[],
              %(leaves)s::bytea[])
    AS e(id, position, kind, step, technician, key, device_seq, performed_at, skew_ms, token, payload, digest,
         previous, leaf)
), earned AS (
  INSERT INTO entry_credits (company_id, job_id, entry_id, credit, finding_codes, findings)
  SELECT %(company)s::uuid, %(job)s::uuid, c.entry, c.credit, string_to_array(NULLIF(c.codes, ''), ','),
         c.findings::jsonb
  FROM unnest(%(credited)s::uuid[], %(credits)s::bool[], %(codes)s::text[], %(findings)s::text[])
    AS c(entry, credit, codes, findings)
  ON CONFLICT (company_id, entry_id) DO UPDATE
    SET credit = EXCLUDED.credit, finding_codes = EXCLUDED.finding_codes, findings = EXCLUDED.findings
)
UPDATE jobs SET head_position = %(head_position)s, chain_head = %(chain_head)s, version = version + 1,
                facts_version = %(facts_version)s, summary = %(summary)s::jsonb, state = %(state)s
WHERE company_id = %(company)s::uuid AND id = %(job)s::uuid
""".replace(
    "string_to_array(NULLIF(c.codes, ''), ',')", "COALESCE(string_to_array(NULLIF(c.codes, ''), ','), '{}')"
)


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
    signed = [one.received.entry.signed for one in written]
    parameters = {
        "company": company,
        "job": job.id,
        "shop": job.shop,
        "unit": job.unit,
        "received_at": now,
        "ids": [one.receipt.entry for one in written],
        "positions": [one.receipt.position for one in written],
        "kinds": [entry.kind.value for entry in signed],
        "steps": [entry.step for entry in signed],
        "technicians": [one.received.entry.technician for one in written],
        "keys": [one.received.entry.key for one in written],
        "sequences": [entry.device_seq for entry in signed],
        "performed": [entry.performed_at for entry in signed],
        "skews": [one.received.entry.skew_ms for one in written],
        "tokens": [one.received.token.decode("ascii") for one in written],
        "payloads": [one.received.jws.payload.decode() for one in written],
        "digests": [one.receipt.digest for one in written],
        "previous": [one.receipt.previous for one in written],
        "leaves": [one.leaf for one in written],
        "credited": [entry for entry, _ in outcomes],
        "credits": [outcome.credit for _, outcome in outcomes],
        "codes": [",".join(sorted({f.code for f in outcome.findings})) for _, outcome in outcomes],
        "findings": [findings_text(outcome) for _, outcome in outcomes],
        "head_position": last.receipt.position if last else job.head_position,
        "chain_head": last.leaf if last else job.chain_head,
        "facts_version": facts_version,
        "summary": orjson.dumps(summary).decode(),
        "state": state,
    }
    with raw_cursor() as cursor:
        cursor.execute(_WRITE, parameters, prepare=True)


def findings_text(outcome: Outcome) -> str:
    if not outcome.findings:
        return "[]"
    return orjson.dumps([finding.document() for finding in outcome.findings]).decode()
