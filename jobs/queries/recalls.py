"""Recalls, what was decided, and where the sweep found each kit; searches for kits that it did not find."""

from dataclasses import replace
from typing import Any, Final
from uuid import UUID

import orjson
from django.db import connection

from jobs.domain.kit_whereabouts import KitState
from jobs.domain.recall_set import KitReceived
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import is_id

RECALLS: Final = Listing(
    """
SELECT r.id, r.coupling, r.lot, r.serial_from, r.serial_to, r.serials::text AS serials, r.received_from, r.received_to,
  r.supplier_count, r.reason, r.proposed_at, r.recorded_by, COALESCE(d.kind, 'proposed') AS state,
  d.id AS decision, d.hits, d.reason AS decision_reason, d.decided_at, d.recorded_by AS decided_by
FROM recalls r LEFT JOIN recall_decisions d ON d.company_id = r.company_id AND d.recall_id = r.id""",
    (OrderColumn("r.proposed_at", "proposed_at", KeyKind.TIME), OrderColumn("r.id", "id", KeyKind.ID)),
)
SEARCHES: Final = Listing(
    """
SELECT t.id, o.recall_id AS recall, o.kit_id AS kit, k.serial, k.lot, t.what, t.opened_at, c.id AS closing, c.found,
  c.closed_at, c.recorded_by AS closed_by
FROM search_tasks t
JOIN recall_outcomes o ON o.company_id = t.company_id AND o.id = t.outcome_id
JOIN kits k ON k.company_id = o.company_id AND k.id = o.kit_id
LEFT JOIN search_task_closings c ON c.company_id = t.company_id AND c.task_id = t.id""",
    (OrderColumn("t.opened_at", "opened_at", KeyKind.TIME), OrderColumn("t.id", "id", KeyKind.ID)),
)
_OUTCOMES: Final = """
SELECT o.id, o.state, o.what, o.kit_id, k.serial, u.number, o.job_id, o.release_id, o.suspension_id, o.movement_id,
  t.id, o.swept_at
FROM recall_outcomes o
JOIN kits k ON k.company_id = o.company_id AND k.id = o.kit_id
LEFT JOIN jobs j ON j.company_id = o.company_id AND j.id = o.job_id
LEFT JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id
LEFT JOIN search_tasks t ON t.company_id = o.company_id AND t.outcome_id = o.id
WHERE o.recall_id = %s ORDER BY k.serial, o.id
"""
_MEMBERS: Final = (
    "id",
    "state",
    "what",
    "kit",
    "serial",
    "unit_number",
    "job",
    "release",
    "suspension",
    "movement",
    "search_task",
    "swept_at",
)


def list_recalls(ask: PageAsk) -> Rows:
    """A page of recalls, oldest first."""
    rows = fetch_page(RECALLS, [], ask)
    return replace(rows, items=[_document(row) for row in rows.items])


def find_recall(recall: UUID) -> dict[str, Any]:
    """The recall with its sweep, by state. Raises NotFound."""
    document = _document(fetch_one(RECALLS, [is_id("r.id", recall)]))
    with connection.cursor() as cursor:
        cursor.execute(_OUTCOMES, [recall])
        outcomes = [dict(zip(_MEMBERS, row, strict=True)) for row in cursor.fetchall()]
    sweep = {state.value: [one for one in outcomes if one["state"] == state.value] for state in KitState}
    return {**document, "sweep": sweep}


def preview_document(kits: list[KitReceived], supplier_count: int | None) -> dict[str, Any]:
    """What a set would take, and whether that is as many as the supplier says."""
    return {
        "count": len(kits),
        "supplier_count": supplier_count,
        "agrees": None if supplier_count is None else len(kits) == supplier_count,
        "kits": [
            {
                "id": kit.id,
                "serial": kit.serial,
                "lot": kit.lot,
                "coupling": kit.coupling,
                "received_at": kit.received_at,
            }
            for kit in kits
        ],
    }


def list_searches(ask: PageAsk, *, is_open: bool | None) -> Rows:
    """A page of search tasks, oldest first; open or closed ones only, or all."""
    wanted = {None: [], True: [Condition("c.id IS NULL")], False: [Condition("c.id IS NOT NULL")]}[is_open]
    return fetch_page(SEARCHES, wanted, ask)


def find_search(task: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(SEARCHES, [is_id("t.id", task)])


def _document(row: dict[str, Any]) -> dict[str, Any]:
    """Django hands JSON over as text."""
    decided = {
        "id": row.pop("decision"),
        "hits": row.pop("hits"),
        "reason": row.pop("decision_reason"),
        "decided_at": row.pop("decided_at"),
        "recorded_by": row.pop("decided_by"),
    }
    serials = row["serials"]
    return {
        **row,
        "serials": None if serials is None else orjson.loads(serials),
        "decision": None if decided["id"] is None else decided,
    }
