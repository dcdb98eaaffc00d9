"""How many bytes of evidence are kept, and which files no entry names. The company is entered."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import connection

# A file counts for the job that it was first sent for; one that was let go counts until it is out of the store.
_KEPT: Final = """
SELECT COALESCE(sum(size) FILTER (WHERE job_id = %(job)s), 0), COALESCE(sum(size), 0) FROM (
  SELECT f.job_id, f.size FROM evidence_files f WHERE f.company_id = %(company)s AND NOT EXISTS (
    SELECT FROM evidence_removals r WHERE r.company_id = f.company_id AND r.digest = f.digest)
  UNION ALL
  SELECT u.job_id, u.received FROM evidence_uploads u WHERE u.company_id = %(company)s AND u.completed_at IS NULL
) AS kept
"""
_UNNAMED: Final = """
SELECT f.digest, f.size, f.media_type, f.received_at, f.recorded_by, f.job_id FROM evidence_files f
WHERE f.company_id = %(company)s
  AND NOT EXISTS (
    SELECT FROM evidence_deletions d JOIN evidence_deletion_decisions k
      ON k.company_id = d.company_id AND k.deletion_id = d.id AND k.kind = 'approved'
    WHERE d.company_id = f.company_id AND d.digests ? f.digest)
  AND f.digest NOT IN (
    SELECT n.digest FROM entries e
    CROSS JOIN LATERAL jsonb_array_elements_text(CASE jsonb_typeof(e.payload::jsonb -> 'evidence')
      WHEN 'array' THEN e.payload::jsonb -> 'evidence' ELSE '[]' END) AS n(digest)
    WHERE e.company_id = %(company)s AND e.payload LIKE '%%"evidence"%%')
ORDER BY f.received_at, f.id
"""


@dataclass(frozen=True, slots=True)
class EvidenceKept:
    """Bytes of files, and of files on their way."""

    of_job: int
    of_company: int


@dataclass(frozen=True, slots=True)
class UnnamedFile:
    """A file that has arrived and that no entry names; `job` is the one that it was sent for."""

    digest: str
    size: int
    media_type: str
    received_at: datetime
    recorded_by: str
    job: UUID


def evidence_kept(company: UUID, job: UUID | None = None) -> EvidenceKept:
    """One query."""
    with connection.cursor() as cursor:
        cursor.execute(_KEPT, {"company": company, "job": job})
        return EvidenceKept(*map(int, cursor.fetchone()))


def unnamed_files(company: UUID) -> list[UnnamedFile]:
    """Oldest first; without those that two people let go. Reads every entry that names a file: ask seldom."""
    with connection.cursor() as cursor:
        cursor.execute(_UNNAMED, {"company": company})
        return [UnnamedFile(*row) for row in cursor.fetchall()]
