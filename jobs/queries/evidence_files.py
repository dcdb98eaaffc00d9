"""The evidence files of a job: what its entries name, and what of it has arrived. The company is entered.

A file belongs to the jobs whose entries name it; that is the only way to it. `files_of_job` and
`jobs.queries.evidence_store.stored_file` are what a bundle takes them from.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.evidence_named import Arrival
from jobs.domain.receipt import utc_text
from jobs.models.evidence import EvidenceFile
from shops.domain.access import Grant

_ARRIVALS: Final = """
SELECT f.digest, f.received_at, (
  SELECT min(k.decided_at) FROM evidence_deletions d
  JOIN evidence_deletion_decisions k ON k.company_id = d.company_id AND k.deletion_id = d.id AND k.kind = 'approved'
  WHERE d.company_id = f.company_id AND d.digests ? f.digest)
FROM evidence_files f WHERE f.company_id = %s AND f.digest = ANY(%s)
"""
# Payloads are JSON as signed; only those that can name a file are parsed.
_NAMED: Final = """
SELECT n.digest, e.id, e.position, e.kind, COALESCE(e.step, e.payload::jsonb #>> '{content,step}'), t.initials,
       k.device_name, e.key, e.performed_at, e.received_at, f.id, f.size, f.media_type, f.received_at, (
         SELECT min(a.decided_at) FROM evidence_deletions d JOIN evidence_deletion_decisions a
           ON a.company_id = d.company_id AND a.deletion_id = d.id AND a.kind = 'approved'
         WHERE d.company_id = f.company_id AND d.digests ? f.digest)
FROM entries e
CROSS JOIN LATERAL jsonb_array_elements_text(CASE jsonb_typeof(e.payload::jsonb -> 'evidence')
  WHEN 'array' THEN e.payload::jsonb -> 'evidence' ELSE '[]' END) WITH ORDINALITY AS n(digest, place)
JOIN technicians t ON t.company_id = e.company_id AND t.id = e.technician_id
LEFT JOIN device_keys k ON k.company_id = e.company_id AND k.thumbprint = e.key
LEFT JOIN evidence_files f ON f.company_id = e.company_id AND f.digest = n.digest
WHERE e.company_id = %(company)s AND e.job_id = %(job)s AND e.payload LIKE '%%"evidence"%%'
  AND (%(digest)s::text IS NULL OR n.digest = %(digest)s)
  AND (%(from)s::timestamptz IS NULL OR e.received_at >= %(from)s::timestamptz)
  AND (%(to)s::timestamptz IS NULL OR e.received_at < %(to)s::timestamptz)
ORDER BY e.position, n.place
"""


@dataclass(frozen=True, slots=True)
class FileOfJob:
    """A file that arrived and that the job's entries name."""

    digest: str
    size: int
    media_type: str


@dataclass(frozen=True, slots=True)
class NamedInJob:
    """An entry that names a file: `file` is None until it has arrived, `deleted_at` until its deletion was decided."""

    file: FileOfJob | None
    arrived_at: datetime | None
    deleted_at: datetime | None
    digest: str
    entry: UUID
    position: int
    kind: str
    step: str | None
    by: str
    device: str | None
    key: str
    performed_at: datetime
    named_at: datetime


def arrivals_of(company: UUID, digests: Sequence[str]) -> dict[str, Arrival]:
    """Which of the files have arrived, and when. One query."""
    with connection.cursor() as cursor:
        cursor.execute(_ARRIVALS, [company, list(digests)])
        return {row[0]: Arrival(*row[1:]) for row in cursor.fetchall()}


def named_in_job(grant: Grant, job: UUID, digest: str | None = None) -> list[NamedInJob]:
    """The files that the job's entries name (or one of them), within the dates of the grant. One query.

    Whether the job is in the grant's reach is the caller's to see.
    """
    dates = {"from": grant.records_from, "to": grant.records_to}
    return _named({"company": grant.company, "job": job, "digest": digest, **dates})


def files_of_job(company: UUID, job: UUID) -> list[FileOfJob]:
    """What has arrived of what the job's entries name and was not deleted, each once: what belongs into its bundle."""
    named = _named({"company": company, "job": job, "digest": None, "from": None, "to": None})
    return list({one.digest: one.file for one in named if one.file and not one.deleted_at}.values())


def _named(wanted: Mapping[str, Any]) -> list[NamedInJob]:
    with connection.cursor() as cursor:
        cursor.execute(_NAMED, wanted)
        return [_one(row) for row in cursor.fetchall()]


def _one(row: tuple[Any, ...]) -> NamedInJob:
    file = None if row[10] is None else FileOfJob(row[0], row[11], row[12])
    return NamedInJob(file, row[13], row[14], *row[:10])


def named_document(one: NamedInJob) -> dict[str, Any]:
    return {
        "digest": one.digest,
        "state": _state(one),
        "step": one.step,
        "entry": one.entry,
        "position": one.position,
        "by": one.by,
        "device": one.device,
        "key": one.key,
        "named_at": utc_text(one.named_at),
        "size": one.file.size if one.file else None,
        "media_type": one.file.media_type if one.file else None,
        "arrived_at": utc_text(one.arrived_at) if one.arrived_at else None,
        "deleted_at": utc_text(one.deleted_at) if one.deleted_at else None,
    }


def _state(one: NamedInJob) -> str:
    if one.file is None:
        return "missing"
    return "arrived" if one.deleted_at is None else "deleted"


def file_document(file: EvidenceFile) -> dict[str, Any]:
    return {
        "digest": file.digest,
        "size": file.size,
        "media_type": file.media_type,
        "received_at": utc_text(file.received_at),
    }
