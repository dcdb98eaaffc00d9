"""Which devices hold a claim on a job, and what they have not sent."""

from typing import Any
from uuid import UUID

from django.db import connection

from jobs.domain.facts import Facts
from jobs.domain.gate import DeviceClaim

# A device's own sequence runs over all its jobs; a claim asks that it has no hole up to its last entry.
_CLAIMS = """
SELECT c.key, e.id IS NULL,
       ARRAY(SELECT s.n FROM generate_series(1, COALESCE(e.last_sequence, 0)) AS s(n)
             WHERE NOT EXISTS (SELECT FROM entries x WHERE x.company_id = c.company_id AND x.key = c.key
                               AND x.device_seq = s.n) ORDER BY s.n LIMIT 20)
FROM claims c LEFT JOIN claim_ends e ON e.company_id = c.company_id AND e.claim_id = c.id
WHERE c.company_id = %s AND c.job_id = %s ORDER BY c.claimed_at, c.id
"""
_HOLES = """
SELECT k.key, ARRAY(SELECT s.n FROM generate_series(1, k.last) AS s(n)
                    WHERE NOT EXISTS (SELECT FROM entries x WHERE x.company_id = %(company)s AND x.key = k.key
                                      AND x.device_seq = s.n) ORDER BY s.n LIMIT 20)
FROM (SELECT key, max(device_seq) AS last FROM entries
      WHERE company_id = %(company)s AND job_id = %(job)s GROUP BY key) k
"""


def device_claims(company: UUID, job: UUID, facts: Facts) -> tuple[DeviceClaim, ...]:
    """Open claims, and every device of the job that has a hole in its sequence."""
    with connection.cursor() as cursor:
        cursor.execute(_CLAIMS, [company, job])
        claims: dict[str, DeviceClaim] = {}
        for key, is_open, missing in cursor.fetchall():
            _merge(claims, _claim(facts, key, is_open, missing))
        cursor.execute(_HOLES, {"company": company, "job": job})
        for key, missing in cursor.fetchall():
            _merge(claims, _claim(facts, key, False, missing))
    return tuple(claims.values())


def _claim(facts: Facts, key: str, is_open: bool, missing: list[Any]) -> DeviceClaim:
    owner = facts.keys.get(key)
    person = facts.people.get(owner.technician) if owner else None
    lost = _is_lost(facts, key)
    return DeviceClaim(
        key, person.initials if person else "somebody", is_open and not lost, () if lost else tuple(missing)
    )


def _is_lost(facts: Facts, key: str) -> bool:
    """A revoked phone sends nothing more: somebody has decided that what it held is lost."""
    found = facts.keys.get(key)
    return found is not None and found.revoked_from is not None


def _merge(claims: dict[str, DeviceClaim], claim: DeviceClaim) -> None:
    before = claims.get(claim.device)
    if before is None or claim.open or (claim.missing and not before.open):
        claims[claim.device] = claim
