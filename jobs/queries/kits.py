"""Kits and where they are, as the token may see them: a job out of its reach is not named."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final
from uuid import UUID

import orjson

from shops.domain.access import Grant
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import carrier_scope, is_id, shop_scope, when_given

KITS: Final = Listing(
    """
SELECT k.id, k.serial, k.lot, k.coupling, k.lines::text AS lines, k.received_at, k.recorded_by,
  COALESCE(m.kind, 'received') AS state, m.job, m.moved_at,
  EXISTS (SELECT FROM recall_outcomes o WHERE o.company_id = k.company_id AND o.kit_id = k.id) AS recalled
FROM kits k LEFT JOIN LATERAL (
  SELECT v.kind, v.job, v.moved_at FROM kit_movements v
  LEFT JOIN entry_credits c ON c.company_id = v.company_id AND c.entry_id = v.id
  WHERE v.company_id = k.company_id AND v.kit_id = k.id
    AND NOT COALESCE('kit_on_two_jobs' = ANY(c.finding_codes), false)
  ORDER BY v.moved_at DESC, v.id DESC LIMIT 1) m ON true""",
    (OrderColumn("k.serial", "serial", KeyKind.TEXT), OrderColumn("k.id", "id", KeyKind.ID)),
)
MOVEMENTS: Final = Listing(
    """
SELECT m.id, m.kit_id AS kit, m.kind, m.shop_id AS shop, m.job, m.moved_at, m.recorded_by FROM kit_movements m""",
    (OrderColumn("m.moved_at", "moved_at", KeyKind.TIME), OrderColumn("m.id", "id", KeyKind.ID)),
)
_REACHED: Final = Listing(
    "SELECT j.id FROM jobs j JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id",
    (OrderColumn("j.id", "id", KeyKind.ID),),
)
_MOST_MOVEMENTS: Final = 200


def list_kits(grant: Grant, ask: PageAsk, wanted: Mapping[str, Any]) -> Rows:
    """A page of kits by serial. `wanted` may hold lot, state, serial, coupling."""
    conditions = [
        *when_given("k.lot = %s", wanted.get("lot")),
        *when_given("k.serial = %s", wanted.get("serial")),
        *when_given("k.coupling = %s", wanted.get("coupling")),
        *when_given("COALESCE(m.kind, 'received') = %s", wanted.get("state")),
    ]
    rows = fetch_page(KITS, conditions, ask)
    return replace(rows, items=_within_reach(grant, [_document(row) for row in rows.items]))


def find_kit(grant: Grant, kit: UUID) -> dict[str, Any]:
    """The kit with its last 200 movements, oldest first. Raises NotFound."""
    document = _within_reach(grant, [_document(fetch_one(KITS, [is_id("k.id", kit)]))])[0]
    moves = fetch_page(MOVEMENTS, [is_id("m.kit_id", kit)], PageAsk(_MOST_MOVEMENTS)).items
    return {**document, "movements": _within_reach(grant, moves)}


def find_movement(grant: Grant, movement: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return _within_reach(grant, [fetch_one(MOVEMENTS, [is_id("m.id", movement)])])[0]


def _document(row: dict[str, Any]) -> dict[str, Any]:
    """Django hands JSON over as text."""
    return {**row, "lines": orjson.loads(row["lines"])}


def _within_reach(grant: Grant, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The rows, without the jobs that the token does not reach."""
    if not (grant.shops or grant.carriers):
        return rows
    jobs = [row["job"] for row in rows if row["job"] is not None]
    scope = [*shop_scope(grant, "j.shop_id"), *carrier_scope(grant, "u.carrier_id")]
    found = fetch_page(_REACHED, [Condition("j.id = ANY(%s)", (jobs,)), *scope], PageAsk(len(rows))).items
    reached = {row["id"] for row in found}
    return [{**row, "job": row["job"] if row["job"] in reached else None} for row in rows]
