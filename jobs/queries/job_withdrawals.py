"""Why a job was closed before anything was done on it, and what still stands in the way of that."""

from typing import Any, Final
from uuid import UUID

from django.db import connection

from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import is_id

WITHDRAWALS: Final = Listing(
    "SELECT w.id, w.job_id AS job, w.reason, w.withdrawn_at, w.recorded_by FROM job_withdrawals w",
    (OrderColumn("w.withdrawn_at", "withdrawn_at", KeyKind.TIME), OrderColumn("w.id", "id", KeyKind.ID)),
)
_KITS_ISSUED: Final = """
SELECT k.serial FROM kits k CROSS JOIN LATERAL (
  SELECT m.kind, m.job FROM kit_movements m
  WHERE m.company_id = k.company_id AND m.kit_id = k.id ORDER BY m.moved_at DESC, m.id DESC LIMIT 1) last
WHERE k.company_id = %(company)s AND last.kind = 'issued' AND last.job = %(job)s AND k.id IN (
  SELECT kit_id FROM kit_movements WHERE company_id = %(company)s AND job = %(job)s)
ORDER BY k.serial
"""


def list_withdrawals(job: UUID, ask: PageAsk) -> Rows:
    """A page of the job's withdrawals: one, or none. The caller has looked whether the token reaches the job."""
    return fetch_page(WITHDRAWALS, [Condition("w.job_id = %s", (job,))], ask)


def find_withdrawal(withdrawal: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(WITHDRAWALS, [is_id("w.id", withdrawal)])


def kits_issued_to(company: UUID, job: UUID) -> list[str]:
    """The serials of the kits whose last movement is their issue to the job."""
    with connection.cursor() as cursor:
        cursor.execute(_KITS_ISSUED, {"company": company, "job": job})
        return [row[0] for row in cursor.fetchall()]
