"""The worker's duty to who waits for dispatch: escalate every suspension that was not acknowledged in time."""

from datetime import datetime
from uuid import UUID

from django.db import connection, transaction

from jobs.domain.escalation import ACKNOWLEDGED_WITHIN
from jobs.models.escalation import Escalation
from shops.queries.access import enter_company
from shops.services.new_id import new_id

# A suspension of before versions were kept is acknowledged by whatever came after it.
_DUE = """
SELECT s.id FROM release_suspensions s
JOIN releases r ON r.company_id = s.company_id AND r.id = s.release_id
WHERE s.company_id = %(company)s AND s.suspended_at <= %(since)s
  AND NOT EXISTS (SELECT FROM escalations e WHERE e.company_id = s.company_id AND e.suspension_id = s.id)
  AND NOT EXISTS (SELECT FROM suspension_liftings l WHERE l.company_id = s.company_id AND l.suspension_id = s.id)
  AND NOT EXISTS (SELECT FROM release_revocations v WHERE v.company_id = s.company_id AND v.release_id = s.release_id)
  AND NOT EXISTS (
    SELECT FROM acknowledgements a WHERE a.company_id = s.company_id AND a.unit_id = r.unit_id
      AND CASE WHEN s.availability_version IS NULL THEN a.acknowledged_at >= s.suspended_at
               ELSE a.availability_version >= s.availability_version END)
ORDER BY s.suspended_at, s.id
"""


@transaction.atomic
def escalate(*, company: UUID, now: datetime) -> bool:
    """Raise what is due. False: nothing more waits; another worker that raises the same raises nothing."""
    enter_company(company)
    with connection.cursor() as cursor:
        cursor.execute(_DUE, {"company": company, "since": now - ACKNOWLEDGED_WITHIN})
        due = [row[0] for row in cursor.fetchall()]
    Escalation.objects.bulk_create(
        [Escalation(id=new_id(now), company_id=company, suspension_id=one, raised_at=now) for one in due],
        ignore_conflicts=True,
    )
    return False
