"""People and what they are qualified for, now or on a given day."""

from datetime import datetime
from typing import Any
from uuid import UUID

from shops.domain.access import Grant
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import is_id, person_scope, when_given

TECHNICIANS = Listing(
    "SELECT t.id, t.shop_id AS shop, t.initials, t.display_name, t.version FROM technicians t",
    (OrderColumn("t.initials", "initials", KeyKind.TEXT), OrderColumn("t.id", "id", KeyKind.ID)),
)
QUALIFICATIONS = Listing(
    """
SELECT q.id, q.technician_id AS technician, q.scopes, q.valid_from, q.valid_to, q.evidence, q.recorded_at,
       q.recorded_by, w.withdrawn_from, w.reason AS withdrawal_reason
FROM qualification_grants q
JOIN technicians t ON t.company_id = q.company_id AND t.id = q.technician_id
LEFT JOIN LATERAL (
  SELECT withdrawn_from, reason FROM qualification_withdrawals
  WHERE company_id = q.company_id AND grant_id = q.id ORDER BY withdrawn_from, id LIMIT 1) w ON true""",
    (OrderColumn("q.valid_from", "valid_from", KeyKind.TIME), OrderColumn("q.id", "id", KeyKind.ID)),
)
# The same rule as `shops.domain.qualification.in_force`.
_IN_FORCE = """(q.valid_from <= %s AND (q.valid_to IS NULL OR q.valid_to > %s)
                AND (w.withdrawn_from IS NULL OR w.withdrawn_from > %s))"""


def list_technicians(grant: Grant, ask: PageAsk, shop: UUID | None) -> Rows:
    conditions = [*person_scope(grant, "t.shop_id"), *when_given("t.shop_id = %s", shop)]
    return fetch_page(TECHNICIANS, conditions, ask)


def find_technician(grant: Grant, technician: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(TECHNICIANS, [is_id("t.id", technician), *person_scope(grant, "t.shop_id")])


def list_qualifications(grant: Grant, ask: PageAsk, technician: UUID, at: datetime | None) -> Rows:
    """The grants of a technician; with `at`, those in force at that moment."""
    conditions = [is_id("q.technician_id", technician), *person_scope(grant, "t.shop_id")]
    if at is not None:
        conditions.append(Condition(_IN_FORCE, (at, at, at)))
    return fetch_page(QUALIFICATIONS, conditions, ask)


def find_qualification(grant: Grant, qualification: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(QUALIFICATIONS, [is_id("q.id", qualification), *person_scope(grant, "t.shop_id")])
