"""What has become of a job since somebody printed its record. The company is entered."""

from datetime import datetime
from typing import Any, Final
from uuid import UUID

from jobs.queries.bundle_rows import fetch

_HEAD: Final = """
SELECT COALESCE(e.position, 0), j.head_position, j.state FROM jobs j
LEFT JOIN entries e ON e.company_id = j.company_id AND e.job_id = j.id AND e.leaf = %(head)s
LEFT JOIN entries f ON f.company_id = j.company_id AND f.job_id = j.id AND f.position = 1
WHERE j.company_id = %(company)s AND j.id = %(job)s
  AND (e.position IS NOT NULL OR COALESCE(f.previous, j.chain_head) = %(head)s)
"""
_RELEASE: Final = """
SELECT r.version, r.released_at,
  CASE WHEN v.id IS NOT NULL THEN 'revoked'
       WHEN EXISTS (SELECT FROM release_suspensions s WHERE s.company_id = r.company_id AND s.release_id = r.id
         AND NOT EXISTS (SELECT FROM suspension_liftings l WHERE l.company_id = s.company_id
           AND l.suspension_id = s.id)) THEN 'suspended'
       WHEN EXISTS (SELECT FROM releases n WHERE n.company_id = r.company_id AND n.unit_id = r.unit_id
         AND n.version > r.version) THEN 'superseded' ELSE 'in_force' END
FROM releases r LEFT JOIN release_revocations v ON v.company_id = r.company_id AND v.release_id = r.id
WHERE r.company_id = %(company)s AND r.job_id = %(job)s
"""


def find_chain_head(company: UUID, job: UUID, head: bytes, now: datetime) -> dict[str, Any] | None:
    """Where `head` (a SHA-256) stands in the job's chain, and what came after; None if it never was its head."""
    parameters = {"company": company, "job": job, "head": head}
    found = fetch(_HEAD, parameters)
    if not found:
        return None
    position, last, state = found[0]
    release = next(iter(fetch(_RELEASE, parameters)), None)
    return {
        "job": job,
        "chain_head": head.hex(),
        "position": position,
        "entries_since": last - position,
        "is_newest": last == position,
        "state": state,
        "release": release and dict(zip(("version", "released_at", "state"), release, strict=True)),
        "bundle": f"/v1/jobs/{job}/bundle",
        "asked_at": now,
    }
