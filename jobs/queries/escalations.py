"""Suspensions that dispatch did not acknowledge in time, as the token may see them."""

from typing import Final
from uuid import UUID

from shops.domain.access import Grant
from shops.queries.page import KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_page
from shops.queries.scope import carrier_scope, shop_scope, when_given

ESCALATIONS: Final = Listing(
    """
SELECT e.id, e.suspension_id AS suspension, s.release_id AS release, r.unit_id AS unit, u.number AS unit_number,
  h.code AS shop, s.code, s.reason, s.suspended_at, e.raised_at,
  (SELECT min(a.acknowledged_at) FROM acknowledgements a WHERE a.company_id = r.company_id AND a.unit_id = r.unit_id
     AND CASE WHEN s.availability_version IS NULL THEN a.acknowledged_at >= s.suspended_at
              ELSE a.availability_version >= s.availability_version END) AS acknowledged_at
FROM escalations e
JOIN release_suspensions s ON s.company_id = e.company_id AND s.id = e.suspension_id
JOIN releases r ON r.company_id = s.company_id AND r.id = s.release_id
JOIN units u ON u.company_id = r.company_id AND u.id = r.unit_id
JOIN jobs j ON j.company_id = r.company_id AND j.id = r.job_id
JOIN shops h ON h.company_id = j.company_id AND h.id = j.shop_id""",
    (OrderColumn("e.raised_at", "raised_at", KeyKind.TIME), OrderColumn("e.id", "id", KeyKind.ID)),
)


def list_escalations(grant: Grant, ask: PageAsk, unit: UUID | None) -> Rows:
    """A page of escalations, oldest first; `acknowledged_at` is when the note came after all."""
    scope = [*shop_scope(grant, "j.shop_id"), *carrier_scope(grant, "u.carrier_id")]
    return fetch_page(ESCALATIONS, [*scope, *when_given("r.unit_id = %s", unit)], ask)
