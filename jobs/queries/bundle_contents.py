"""Everything that a job's bundle holds, read from the entered company. Nothing is written."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import orjson

from jobs.domain.availability import availability
from jobs.domain.bench import Bench
from jobs.domain.bundle import BundleSource
from jobs.domain.bundle_claims import availability_document, claims_document, reading_documents
from jobs.domain.facts import Facts
from jobs.domain.receipt import Opening, Receipt, utc_text
from jobs.queries.availability import read_units
from jobs.queries.bundle_evidence import evidence_within
from jobs.queries.bundle_identity import bundle_identity, names_of
from jobs.queries.bundle_rows import checkpoints_around, fetch, logged_rows, places_of
from jobs.queries.job_rows import JobRow
from jobs.queries.log import company_slug, latest_checkpoint
from jobs.queries.registry_signers import signers_of_facts
from shops.domain.access import Grant
from shops.domain.errors import RecordDamaged

_ENTRIES: Final = """
SELECT id, position, digest, previous, received_at, skew_ms, token, payload, key, technician_id, device_seq
FROM entries WHERE company_id = %s AND job_id = %s ORDER BY position
"""
_OUTCOMES: Final = "SELECT entry_id, credit, findings::text FROM entry_credits WHERE company_id = %s AND job_id = %s"
_LEFT_SHOPS: Final = "SELECT from_shop_id FROM transfers WHERE company_id = %s AND job_id = %s"
_CLAIM_KEYS: Final = "SELECT key FROM claims WHERE company_id = %s AND job_id = %s"
_CANONICAL: Final = "SELECT digest, canonical FROM procedure_revisions WHERE company_id = %s AND digest = ANY(%s)"
_ELSEWHERE: Final = """
SELECT device_seq, encode(digest, 'hex'), job_id::text FROM entries
WHERE company_id = %s AND key = %s AND device_seq <= %s AND job_id <> %s ORDER BY device_seq, id
"""
_JOBS: Final = """
SELECT j.id, j.state, j.purpose, j.opened_at, s.code, j.coupling_id, j.top_plate_id, j.reference,
  COALESCE((j.summary->>'paused')::boolean, false) OR COALESCE((j.summary->>'holds')::int, 0) > 0
FROM jobs j JOIN shops s ON s.company_id = j.company_id AND s.id = j.shop_id
WHERE j.company_id = %s AND j.unit_id = %s ORDER BY j.opened_at, j.id
"""
_UNIT: Final = "SELECT number, vin, kind FROM units WHERE company_id = %s AND id = %s"
_COUPLINGS: Final = "SELECT id, model, top_plate_id FROM couplings WHERE company_id = %s AND unit_id = %s ORDER BY id"
_PLATES: Final = "SELECT id, casting_serial FROM top_plates WHERE company_id = %s AND id = ANY(%s) ORDER BY id"
_INSTRUMENTS: Final = """
SELECT id, code, kind, unit, range_low, range_high, resolution, uncertainty
FROM instruments WHERE company_id = %s AND code = ANY(%s) ORDER BY code
"""
_INSTRUMENT: Final = ("id", "code", "kind", "unit", "range_low", "range_high", "resolution", "uncertainty")


@dataclass(frozen=True, slots=True)
class _Sent:
    """An entry's row, as far as the bundle asks."""

    receipt: Receipt
    token: str
    payload: Mapping[str, Any]
    key: str
    technician: UUID
    device_seq: int


def bundle_contents(grant: Grant, job: JobRow, bench: Bench, now: datetime, room: int) -> BundleSource:
    """`bench` is the job's, derived with the facts as they are now; `room` bytes are there for photos.

    Raises RecordDamaged where the job's first entry follows no opening that the job's row can have had.
    """
    company, facts = grant.company, bench.facts
    sent = [_sent(job.id, row) for row in fetch(_ENTRIES, [company, job.id])]
    procedures = _procedures(company, job, sent, bench)
    parameters = _concerned(company, job, sent, procedures)
    rows, newest = logged_rows(parameters), latest_checkpoint(company)
    places = places_of(company, rows, newest.size) if newest else []
    evidence, left_out = evidence_within(company, job.id, room)
    return BundleSource(
        made_at=now,
        slug=company_slug(company),
        opening=_opening(company, job, sent),
        entries=[(one.token, one.receipt) for one in sent],
        procedures=procedures,
        rows=rows,
        places=places,
        checkpoint=newest.note if newest else None,
        checkpoints=checkpoints_around(company, places, _seen_sizes(sent), newest) if newest else [],
        register=_register(company, job, parameters, facts),
        devices=_devices(company, job, sent),
        claims=_claims(grant, job, bench, now),
        cautions=_cautions(bench),
        evidence=evidence,
        left_out=left_out,
    )


def _sent(job: UUID, row: tuple[Any, ...]) -> _Sent:
    entry, position, digest, previous, received_at, skew_ms, token, payload, key, technician, sequence = row
    receipt = Receipt(entry, job, position, bytes(digest), bytes(previous), received_at, skew_ms)
    return _Sent(receipt, token, orjson.loads(payload), key, technician, sequence)


def _opening(company: UUID, job: JobRow, sent: Sequence[_Sent]) -> Opening:
    """As it was opened: a job that was transferred began in the shop that its first entry follows from."""
    first = sent[0].receipt.previous if sent else job.chain_head
    for shop in (job.shop, *(row[0] for row in fetch(_LEFT_SHOPS, [company, job.id]))):
        opening = Opening(
            job.id, company, shop, job.unit, job.coupling, job.top_plate, job.procedure, job.purpose, job.opened_at
        )
        if opening.digest() == first:
            return opening
    raise RecordDamaged(
        f"The row of job {job.id} was changed since it was opened: have the operator run check_records, which names it."
    )


def _procedures(company: UUID, job: JobRow, sent: Sequence[_Sent], bench: Bench) -> dict[str, str]:
    """The revision that the job was opened with, those that its entries name, and the one that it is on."""
    named = {job.procedure, bench.procedure.digest, *(str(one.payload["procedure"]) for one in sent)}
    named |= {str(one.payload["revision"]) for one in sent if one.payload["kind"] == "move"}
    return dict(fetch(_CANONICAL, [company, sorted(named)]))


def _concerned(company: UUID, job: JobRow, sent: Sequence[_Sent], procedures: Mapping[str, str]) -> dict[str, Any]:
    """Whom and what the job's entries name: what the conditions of `bundle_rows` ask for."""
    keys = {one.key for one in sent} | {row[0] for row in fetch(_CLAIM_KEYS, [company, job.id])}
    mounted = [row[2] for row in fetch(_COUPLINGS, [company, job.unit]) if row[2] is not None]
    owners = fetch(
        "SELECT technician_id FROM device_keys WHERE company_id = %s AND thumbprint = ANY(%s)", [company, sorted(keys)]
    )
    people = sorted({one.technician for one in sent} | {row[0] for row in owners})
    instruments = sorted(set(_named([one.payload for one in sent], "instrument")))
    return {
        "company": company,
        "job": job.id,
        "unit": job.unit,
        "keys": sorted(keys | signers_of_facts(company, people, instruments, sorted(keys))),
        "people": people,
        "instruments": instruments,
        "kits": sorted({kit["serial"] for kit in _objects([one.payload for one in sent], "kit")}),
        "plates": sorted({job.top_plate, *mounted}),
        "evidence": sorted({digest for one in sent for digest in one.payload.get("evidence") or ()}),
        "digests": sorted(procedures),
    }


def _seen_sizes(sent: Sequence[_Sent]) -> set[int]:
    """Sizes of the checkpoints that the phones had seen."""
    seen = (one.payload.get("seen_checkpoint") for one in sent)
    return {int(one["size"]) for one in seen if one is not None}


def _named(tree: Any, member: str) -> Iterator[str]:
    """Every text that stands as `member` anywhere in the payloads, amendments included."""
    return (found for found in _values(tree, member) if isinstance(found, str))


def _objects(tree: Any, member: str) -> Iterator[dict[str, Any]]:
    return (found for found in _values(tree, member) if isinstance(found, dict))


def _values(tree: Any, member: str) -> Iterator[Any]:
    waiting: list[Any] = [tree]
    while waiting:
        item = waiting.pop()
        inner: Iterable[Any] = item.values() if isinstance(item, dict) else item if isinstance(item, list) else ()
        if isinstance(item, dict) and member in item:
            yield item[member]
        waiting.extend(inner)


def _register(company: UUID, job: JobRow, concerned: Mapping[str, Any], facts: Facts) -> dict[str, Any]:
    """What may be put right at any time, and so is in no log: shown, not proved."""
    number, vin, kind = fetch(_UNIT, [company, job.unit])[0]
    people = [facts.people[person] for person in concerned["people"]]
    names = names_of(company, concerned["people"])
    unit = {"id": str(job.unit), "number": number, "vin": vin, "kind": kind}
    return {
        **bundle_identity(company, job),
        "people": [{"id": str(one.id), "initials": one.initials, "name": names[one.id]} for one in people],
        "hot_work": {str(person.id): [utc_text(at) for at in person.hot_work] for person in people if person.hot_work},
        "instruments": [
            {**dict(zip(_INSTRUMENT, row, strict=True)), "id": str(row[0])}
            for row in fetch(_INSTRUMENTS, [company, concerned["instruments"]])
        ],
        "unit": {**unit, "couplings": _couplings(company, job.unit)},
        "jobs": [_job(row) for row in fetch(_JOBS, [company, job.unit])],
        "top_plates": [
            {"id": str(plate), "casting_serial": serial}
            for plate, serial in fetch(_PLATES, [company, concerned["plates"]])
        ],
    }


def _couplings(company: UUID, unit: UUID) -> list[dict[str, Any]]:
    return [
        {"id": str(coupling), "model": model, "top_plate": None if plate is None else str(plate)}
        for coupling, model, plate in fetch(_COUPLINGS, [company, unit])
    ]


def _job(row: tuple[Any, ...]) -> dict[str, Any]:
    return {
        "id": str(row[0]),
        "state": row[1],
        "purpose": row[2],
        "opened_at": utc_text(row[3]),
        "shop": row[4],
        "coupling": str(row[5]),
        "top_plate": str(row[6]),
        "reference": row[7],
        "is_stopped": row[8],
    }


def _devices(company: UUID, job: JobRow, sent: Sequence[_Sent]) -> dict[str, list[tuple[int, str, str]]]:
    """Number, digest and job of what each device made on other jobs, up to the number of its last entry here."""
    last: dict[str, int] = {}
    for one in sent:
        last[one.key] = max(last.get(one.key, 0), one.device_seq)
    return {
        key: [(row[0], row[1], row[2]) for row in fetch(_ELSEWHERE, [company, key, end, job.id])]
        for key, end in last.items()
    }


def _claims(grant: Grant, job: JobRow, bench: Bench, now: datetime) -> dict[str, Any]:
    outcomes = {
        str(entry): {"credit": credit, "findings": orjson.loads(findings)}
        for entry, credit, findings in fetch(_OUTCOMES, [grant.company, job.id])
    }
    read = read_units(grant, [job.unit], now)[0]
    return claims_document(
        state=job.state,
        entries=job.head_position,
        chain_head=job.chain_head,
        outcomes=outcomes,
        readings=reading_documents(bench),
        availability={} if read is None else availability_document(availability(read.facts, now), now),
    )


def _cautions(bench: Bench) -> list[str]:
    steps = [f"{step.title}: {caution}" for step in bench.procedure.steps for caution in step.cautions]
    return [*dict.fromkeys((*bench.procedure.cautions, *steps)), *ALWAYS]


ALWAYS: Final = (
    "This record does not replace the maker's current instructions, local codes, or licensed and qualified people.",
    "A release says nothing of a trailer's kingpin.",
)
