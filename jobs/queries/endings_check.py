"""Rows that the record writes because of an entry, held against that entry; and what follows from other rows alone.

Each of them has its leaf, and so was never changed. But whoever writes a false one past the services has it logged like
a true one; only that no entry gives it shows.
"""

from collections.abc import Iterator
from typing import Final
from uuid import UUID

from django.db import connection

from jobs.domain.record_fault import Fault, FaultCode

_OF_JOB: Final = "LEFT JOIN entries e ON e.company_id = {row}.company_id AND e.id = {row}.{column}"
_GROUNDLESS: Final[tuple[tuple[str, str, str], ...]] = (
    (
        "releases",
        f"""
SELECT r.id FROM releases r {_OF_JOB.format(row="r", column="entry_id")}
LEFT JOIN jobs j ON j.company_id = r.company_id AND j.id = r.job_id
WHERE r.company_id = %(company)s
  AND (e.kind IS DISTINCT FROM 'release' OR e.job_id <> r.job_id OR r.id <> r.entry_id
       OR j.unit_id IS DISTINCT FROM r.unit_id)""",
        "no signed entry of its job releases that unit",
    ),
    (
        "verification_outcomes",
        f"""
SELECT v.id FROM verification_outcomes v {_OF_JOB.format(row="v", column="entry_id")}
WHERE v.company_id = %(company)s
  AND (e.kind IS DISTINCT FROM 'verification_cycle' OR e.job_id <> v.job_id OR v.id <> v.entry_id)""",
        "no signed cycle of its job completes it",
    ),
    (
        "follow_up_completions",
        f"""
SELECT c.id FROM follow_up_completions c {_OF_JOB.format(row="c", column="entry_id")}
LEFT JOIN jobs j ON j.company_id = c.company_id AND j.id = c.job_id
WHERE c.company_id = %(company)s
  AND (e.job_id IS DISTINCT FROM c.job_id OR j.purpose IS DISTINCT FROM 'follow_up'
       OR j.follows_release IS DISTINCT FROM c.release_id)""",
        "no signed entry of a follow-up of that release completes it",
    ),
    (
        "condemnations",
        f"""
SELECT c.id FROM condemnations c {_OF_JOB.format(row="c", column="entry_id")}
LEFT JOIN entries s ON s.company_id = c.company_id AND s.id = c.concurring_entry_id
LEFT JOIN jobs j ON j.company_id = c.company_id AND j.id = c.job_id
WHERE c.company_id = %(company)s
  AND (e.kind IS DISTINCT FROM 'condemn' OR s.kind IS DISTINCT FROM 'condemn' OR e.job_id <> c.job_id
       OR s.job_id <> c.job_id OR e.technician_id = s.technician_id
       OR j.top_plate_id IS DISTINCT FROM c.top_plate_id)""",
        "no two people's signed entries on its job condemn that casting",
    ),
    (
        "jobs",
        """
SELECT j.id FROM jobs j WHERE j.company_id = %(company)s AND j.shop_id <> COALESCE(
  (SELECT t.to_shop_id FROM transfers t
   JOIN transfer_answers a ON a.company_id = t.company_id AND a.transfer_id = t.id AND a.accepted
   WHERE t.company_id = j.company_id AND t.job_id = j.id ORDER BY a.answered_at DESC, a.id DESC LIMIT 1),
  (SELECT e.shop_id FROM entries e WHERE e.company_id = j.company_id AND e.job_id = j.id ORDER BY e.position LIMIT 1),
  j.shop_id)""",
        "no accepted transfer brought it to its shop",
    ),
    (
        "jobs",
        """
SELECT j.id FROM jobs j JOIN companies c ON c.id = j.company_id
WHERE j.company_id = %(company)s AND j.facts_version > c.facts_version""",
        "it was derived with newer facts than the company has",
    ),
    (
        "jobs",
        """
SELECT j.id FROM jobs j WHERE j.company_id = %(company)s AND j.purpose = 'follow_up' AND NOT EXISTS (
  SELECT FROM releases r WHERE r.company_id = j.company_id AND r.id = j.follows_release AND r.unit_id = j.unit_id)""",
        "it is a follow-up of no release of its unit",
    ),
    (
        "evidence_deletion_decisions",
        """
SELECT d.id FROM evidence_deletion_decisions d
JOIN evidence_deletions p ON p.company_id = d.company_id AND p.id = d.deletion_id
WHERE d.company_id = %(company)s AND d.kind = 'approved'
  AND regexp_replace(d.recorded_by, '^.*?: ', '') = regexp_replace(p.recorded_by, '^.*?: ', '')""",
        "who proposed the deletion approved it too",
    ),
    (
        "entry_credits",
        """
SELECT c.entry_id FROM entry_credits c WHERE c.company_id = %(company)s AND c.finding_codes IS DISTINCT FROM ARRAY(
  SELECT DISTINCT f.finding ->> 'code' COLLATE "C" FROM jsonb_array_elements(c.findings) AS f(finding) ORDER BY 1)""",
        "its codes are not those of its findings",
    ),
)


def endings_check(company: UUID) -> Iterator[Fault]:
    """Every such row without its ground."""
    with connection.cursor() as cursor:
        for table, sql, message in _GROUNDLESS:
            cursor.execute(sql, {"company": company})
            for (row,) in cursor.fetchall():
                yield Fault(FaultCode.GROUNDLESS, table, row, message)
