"""The worker's duty to whoever relies on a gauge: report every calibration that found one bad."""

from datetime import datetime
from uuid import UUID

from django.db import connection, transaction

from jobs.services.report_found_bad import report_found_bad
from shops.queries.access import enter_company

_NEXT = """
SELECT c.id FROM calibrations c
WHERE c.company_id = %s AND c.result <> 'in_tolerance'
  AND NOT EXISTS (SELECT FROM found_bad_reports r WHERE r.company_id = c.company_id AND r.calibration_id = c.id)
ORDER BY c.performed_at, c.id LIMIT 1
"""


@transaction.atomic
def report_bad_calibrations(*, company: UUID, now: datetime) -> bool:
    """Report the oldest bad calibration that has no report; True if there was one, for there may be more."""
    enter_company(company)
    with connection.cursor() as cursor:
        cursor.execute(_NEXT, [company])
        row = cursor.fetchone()
    if row is None:
        return False
    report_found_bad(company=company, calibration=row[0], recorded_by="the record", now=now)
    return True
