"""Holds on units from outside their jobs, and their clearing."""

from dataclasses import replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import orjson

from shops.domain.access import Grant
from shops.queries.page import KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import carrier_scope, is_id

HOLDS: Final = Listing(
    """
SELECT h.id, h.unit_id AS unit, h.kind, h.reason, h.may_clear, h.held_at, h.incident_at, h.recorded_by,
  CASE WHEN c.id IS NOT NULL THEN jsonb_build_object('id', c.id, 'reason', c.reason, 'cleared_at', c.cleared_at,
    'recorded_by', c.recorded_by) END AS clearing
FROM unit_holds h
JOIN units u ON u.company_id = h.company_id AND u.id = h.unit_id
LEFT JOIN unit_hold_clearings c ON c.company_id = h.company_id AND c.hold_id = h.id""",
    (OrderColumn("h.held_at", "held_at", KeyKind.TIME), OrderColumn("h.id", "id", KeyKind.ID)),
)


def list_holds(grant: Grant, ask: PageAsk, unit: UUID) -> Rows:
    """A page of the unit's holds, cleared ones too, oldest first."""
    rows = fetch_page(HOLDS, [is_id("h.unit_id", unit), *carrier_scope(grant, "u.carrier_id")], ask)
    return replace(rows, items=[_document(row) for row in rows.items])


def find_hold(grant: Grant, hold: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return _document(fetch_one(HOLDS, [is_id("h.id", hold), *carrier_scope(grant, "u.carrier_id")]))


def _document(row: dict[str, Any]) -> dict[str, Any]:
    """Django hands JSON over as text; times of an answer are all written alike."""
    clearing = orjson.loads(row["clearing"] or "null")
    return {
        **row,
        "clearing": clearing and {**clearing, "cleared_at": datetime.fromisoformat(clearing["cleared_at"])},
    }
