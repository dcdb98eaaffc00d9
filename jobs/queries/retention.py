"""What keeps evidence files: the jobs that name them, their clocks, and the holds in force. The company is entered."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.retention import HeldJob, Keeping, LegalHoldOn, keeping_of

# Nothing but the signed payload says what an entry names, so all that name anything are read; this is asked seldom.
_NAMING: Final = """
SELECT DISTINCT n.digest, e.job_id FROM entries e
CROSS JOIN LATERAL jsonb_array_elements_text(CASE jsonb_typeof(e.payload::jsonb -> 'evidence')
  WHEN 'array' THEN e.payload::jsonb -> 'evidence' ELSE '[]' END) AS n(digest)
WHERE e.company_id = %s AND e.payload LIKE '%%"evidence"%%' AND n.digest = ANY(%s)
UNION SELECT f.digest, f.job_id FROM evidence_files f WHERE f.company_id = %s AND f.digest = ANY(%s)
"""
_JOBS: Final = """
SELECT j.id, j.unit_id, j.state, s.time_zone,
  COALESCE(
    (SELECT max(e.received_at) FROM entries e WHERE e.company_id = j.company_id AND e.job_id = j.id), j.opened_at),
  EXISTS (SELECT FROM releases r
          JOIN release_suspensions x ON x.company_id = r.company_id AND x.release_id = r.id
          LEFT JOIN suspension_liftings y ON y.company_id = x.company_id AND y.suspension_id = x.id
          WHERE r.company_id = j.company_id AND (r.job_id = j.id OR r.id = j.follows_release) AND y.id IS NULL)
FROM jobs j JOIN shops s ON s.company_id = j.company_id AND s.id = j.shop_id
WHERE j.company_id = %s AND j.id = ANY(%s) ORDER BY j.opened_at, j.id
"""
# A legal hold on a unit also keeps what is recorded of it.
_HOLDS: Final = """
SELECT h.id, h.reason, h.job_id, h.unit_id FROM legal_holds h
LEFT JOIN legal_hold_liftings l ON l.company_id = h.company_id AND l.hold_id = h.id
WHERE h.company_id = %(company)s AND l.id IS NULL
  AND (h.job_id = ANY(%(jobs)s) OR h.unit_id = ANY(%(units)s) OR (h.job_id IS NULL AND h.unit_id IS NULL))
UNION ALL
SELECT h.id, h.reason, NULL, h.unit_id FROM unit_holds h
LEFT JOIN unit_hold_clearings c ON c.company_id = h.company_id AND c.hold_id = h.id
WHERE h.company_id = %(company)s AND c.id IS NULL AND h.kind = 'legal_hold' AND h.unit_id = ANY(%(units)s)
ORDER BY 1
"""
DELETED: Final = """
SELECT f.digest, k.decided_at, k.recorded_by, d.id, d.recorded_by, d.reason, r.removed_at
FROM evidence_deletions d
JOIN evidence_deletion_decisions k ON k.company_id = d.company_id AND k.deletion_id = d.id AND k.kind = 'approved'
CROSS JOIN LATERAL jsonb_array_elements_text(d.digests) AS f(digest)
LEFT JOIN evidence_removals r ON r.company_id = d.company_id AND r.digest = f.digest
WHERE d.company_id = %s AND f.digest = ANY(%s) ORDER BY k.decided_at DESC
"""


@dataclass(frozen=True, slots=True)
class Deleted:
    """Who let a file go, when and why; `removed_at` once it is out of the store."""

    digest: str
    decided_at: datetime
    decided_by: str
    deletion: UUID
    proposed_by: str
    reason: str
    removed_at: datetime | None


def keeping_of_files(
    company: UUID, digests: Sequence[str], *, left_control: date | None, now: datetime
) -> dict[str, list[Keeping]]:
    """For each file what keeps it, job by job: of every job that names it, and of the one that it was sent for."""
    named = _rows(_NAMING, [company, list(digests), company, list(digests)])
    keeping = keeping_of_jobs(company, sorted({job for _, job in named}), left_control=left_control, now=now)
    return {digest: [keeping[job] for one, job in named if one == digest and job in keeping] for digest in digests}


def keeping_of_jobs(
    company: UUID, jobs: Sequence[UUID], *, left_control: date | None, now: datetime
) -> Mapping[UUID, Keeping]:
    """What keeps the files of each job. Two queries."""
    found = [HeldJob(*row) for row in _rows(_JOBS, [company, list(jobs)])]
    asked = {"company": company, "jobs": [job.id for job in found], "units": [job.unit for job in found]}
    holds = tuple(LegalHoldOn(*row) for row in _rows(_HOLDS, asked))
    return {job.id: keeping_of(job, holds, left_control=left_control, now=now) for job in found}


def deleted_files(company: UUID, digests: Sequence[str]) -> dict[str, Deleted]:
    """Those of the files whose deletion was approved."""
    return {row[0]: Deleted(*row) for row in _rows(DELETED, [company, list(digests)])}


def gone_file(company: UUID, digest: str, now: datetime) -> Deleted | None:
    """How a file went; None if it did not, or if a legal hold came before it was taken out of the store."""
    found = deleted_files(company, [digest]).get(digest)
    if found is None or found.removed_at is not None:
        return found
    return None if is_held(company, digest, now) else found


def is_held(company: UUID, digest: str, now: datetime) -> bool:
    """Whether a legal hold is in force on a job that names the file, on its unit, or on the company."""
    keeping = keeping_of_files(company, [digest], left_control=None, now=now)[digest]
    return any(found.code == "legal_hold" for one in keeping for found in one.obstacles)


def _rows(sql: str, parameters: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())
