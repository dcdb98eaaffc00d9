"""Numbers that a phone of the entered company signed on two jobs, held against the rows that tell of them."""

from collections.abc import Iterator
from typing import Final
from uuid import UUID

from django.db import connection

from jobs.domain.record_fault import Fault, FaultCode

# What waits for its place in the log is not noted yet.
_SILENT: Final = """
SELECT b.id, a.id FROM (
  SELECT key, device_seq FROM entries WHERE company_id = %(company)s
  GROUP BY key, device_seq HAVING count(DISTINCT job_id) > 1) twice
JOIN entries a ON a.company_id = %(company)s AND a.key = twice.key AND a.device_seq = twice.device_seq
JOIN entries b ON b.company_id = %(company)s AND b.key = twice.key AND b.device_seq = twice.device_seq
  AND b.job_id <> a.job_id AND (b.received_at, b.id) > (a.received_at, a.id)
WHERE NOT EXISTS (SELECT FROM device_forks f
                  WHERE f.company_id = %(company)s AND f.first_id = a.id AND f.second_id = b.id)
  AND NOT EXISTS (SELECT FROM log_queue q
                  WHERE q.company_id = %(company)s AND q.table_name = 'entries' AND q.row_id IN (a.id, b.id))
"""
_MADE_UP: Final = """
SELECT f.id FROM device_forks f
LEFT JOIN entries a ON a.company_id = f.company_id AND a.id = f.first_id
LEFT JOIN entries b ON b.company_id = f.company_id AND b.id = f.second_id
WHERE f.company_id = %(company)s
  AND (f.key, f.number, f.first_job_id, f.key, f.number, f.second_job_id, f.since)
    IS DISTINCT FROM (a.key, a.device_seq, a.job_id, b.key, b.device_seq, b.job_id, b.received_at)
"""


def forks_check(company: UUID) -> Iterator[Fault]:
    """Forks across jobs that no row tells of, and rows that tell of none."""
    with connection.cursor() as cursor:
        cursor.execute(_SILENT, {"company": company})
        for entry, twin in cursor.fetchall():
            message = f"its phone signed the same number on another job, as {twin}, and nothing tells of it"
            yield Fault(FaultCode.FORK, "entries", entry, message)
        cursor.execute(_MADE_UP, {"company": company})
        for (row,) in cursor.fetchall():
            yield Fault(FaultCode.FORK, "device_forks", row, "it tells of two entries that are not as it says")
