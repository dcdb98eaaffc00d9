"""Which devices hold a claim on a job, and what they have not sent."""

from uuid import UUID

import orjson
from django.db import connection

from jobs.domain.facts import Facts
from jobs.domain.gate import DeviceClaim

# A device's own sequence runs over all its jobs; a claim asks that it has no hole up to its last entry. Holes are found
# between the numbers that came, so that a number far ahead costs no more than one that is next.
_MISSING = """
ARRAY(SELECT s.n FROM (
        SELECT lag(x.device_seq, 1, 0::bigint) OVER (ORDER BY x.device_seq) AS before, x.device_seq AS following
        FROM (SELECT device_seq FROM entries
              WHERE company_id = %(company)s AND key = k.key AND device_seq <= k.last
              UNION SELECT k.last + 1) x) g
      CROSS JOIN LATERAL generate_series(g.before + 1, LEAST(g.following - 1, g.before + 20)) AS s(n)
      ORDER BY s.n LIMIT 20)
"""
_CLAIMS = f"""
SELECT k.key, k.open, {_MISSING}
FROM (SELECT c.key, c.claimed_at, c.id, e.id IS NULL AS open, COALESCE(e.last_sequence, 0) AS last
      FROM claims c LEFT JOIN claim_ends e ON e.company_id = c.company_id AND e.claim_id = c.id
      WHERE c.company_id = %(company)s AND c.job_id = %(job)s) k
ORDER BY k.claimed_at, k.id
"""
_HOLES = f"""
SELECT k.key, {_MISSING}
FROM (SELECT key, max(device_seq) AS last FROM entries
      WHERE company_id = %(company)s AND job_id = %(job)s GROUP BY key) k
"""


def device_claims(company: UUID, job: UUID, facts: Facts) -> tuple[DeviceClaim, ...]:
    """Every device that claimed the job or wrote on it: whether its claim is open, and what it never sent."""
    with connection.cursor() as cursor:
        cursor.execute(_DEVICES, {"company": company, "job": job})
        return tuple(_claim(facts, key, is_open, orjson.loads(holes)) for key, is_open, holes in cursor.fetchall())


def _claim(facts: Facts, key: str, is_open: bool, holes: list[list[int]]) -> DeviceClaim:
    owner = facts.keys.get(key)
    person = facts.people.get(owner.technician) if owner else None
    initials = person.initials if person else "somebody"
    if _is_lost(facts, key):
        return DeviceClaim(key, initials, open=False)
    return DeviceClaim(key, initials, is_open, tuple((first, last) for first, last in holes))


def _is_lost(facts: Facts, key: str) -> bool:
    """A revoked phone sends nothing more: somebody has decided that what it held is lost."""
    found = facts.keys.get(key)
    return found is not None and found.revoked_from is not None
