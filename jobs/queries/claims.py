"""Which devices hold a claim on a job, and what they have not sent."""

from uuid import UUID

import orjson
from django.db import connection

from jobs.domain.facts import Facts
from jobs.domain.gate import DeviceClaim

# A device's own sequence runs over all its jobs. It must have no hole up to what it wrote on this job, nor up to the
# last entry that it named when it ended its claim. Holes lie between the numbers that came, so that a number far
# ahead costs no more than the next one.
_DEVICES = """
SELECT d.key, bool_or(d.open),
       COALESCE((SELECT json_agg(json_build_array(g.before + 1, g.following - 1) ORDER BY g.before) FROM (
           SELECT lag(x.n, 1, 0::bigint) OVER (ORDER BY x.n) AS before, x.n AS following
           FROM (SELECT device_seq AS n FROM entries
                 WHERE company_id = %(company)s AND key = d.key AND device_seq <= max(d.last)
                 UNION SELECT max(d.last) + 1) x
           ORDER BY x.n) g WHERE g.following > g.before + 1), '[]')::text
FROM (SELECT c.key, e.id IS NULL AS open, COALESCE(e.last_sequence, 0) AS last
      FROM claims c LEFT JOIN claim_ends e ON e.company_id = c.company_id AND e.claim_id = c.id
      WHERE c.company_id = %(company)s AND c.job_id = %(job)s
      UNION ALL
      SELECT key, false, max(device_seq) FROM entries
      WHERE company_id = %(company)s AND job_id = %(job)s GROUP BY key) d
GROUP BY d.key ORDER BY d.key
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
