"""Releases and what has become of them, as the token may see them."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import orjson

from shops.domain.access import Grant
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import carrier_scope, is_id, shop_scope, when_given

_SELECT: Final = """
SELECT r.id, r.job_id AS job, r.unit_id AS unit, r.version, r.released_at, t.initials AS released_by,
  CASE WHEN v.id IS NOT NULL THEN 'revoked' WHEN COALESCE(s.open, 0) > 0 THEN 'suspended'
       WHEN EXISTS (SELECT FROM releases n WHERE n.company_id = r.company_id AND n.unit_id = r.unit_id
                    AND n.version > r.version) THEN 'superseded' ELSE 'in_force' END AS state,
  r.limited_until_follow_up, r.follow_up_due_at, f.completed_at AS followed_up_at, f.job_id AS follow_up_job,
  r.next_inspection_at, COALESCE(s.items, '[]') AS suspensions,
  CASE WHEN v.id IS NOT NULL THEN jsonb_build_object('id', v.id, 'reason', v.reason, 'revoked_at', v.revoked_at,
    'recorded_by', v.recorded_by) END AS revocation
FROM releases r
JOIN jobs j ON j.company_id = r.company_id AND j.id = r.job_id
JOIN units u ON u.company_id = r.company_id AND u.id = r.unit_id
JOIN entries e ON e.company_id = r.company_id AND e.id = r.entry_id
JOIN technicians t ON t.company_id = e.company_id AND t.id = e.technician_id
LEFT JOIN release_revocations v ON v.company_id = r.company_id AND v.release_id = r.id
LEFT JOIN follow_up_completions f ON f.company_id = r.company_id AND f.release_id = r.id
LEFT JOIN LATERAL (
  SELECT count(*) FILTER (WHERE y.id IS NULL) AS open, jsonb_agg(jsonb_build_object(
      'id', x.id, 'code', x.code, 'reason', x.reason, 'suspended_at', x.suspended_at, 'recorded_by', x.recorded_by,
      'lifting', CASE WHEN y.id IS NOT NULL THEN jsonb_build_object('id', y.id, 'reason', y.reason,
        'lifted_at', y.lifted_at, 'recorded_by', y.recorded_by) END) ORDER BY x.suspended_at, x.id) AS items
  FROM release_suspensions x
  LEFT JOIN suspension_liftings y ON y.company_id = x.company_id AND y.suspension_id = x.id
  WHERE x.company_id = r.company_id AND x.release_id = r.id) s ON true"""
RELEASES: Final = Listing(
    _SELECT,
    (OrderColumn("r.released_at", "released_at", KeyKind.TIME), OrderColumn("r.id", "id", KeyKind.ID)),
)


def list_releases(grant: Grant, ask: PageAsk, wanted: Mapping[str, Any]) -> Rows:
    """A page of releases, oldest first. `wanted` may hold unit, job."""
    conditions = [
        *_scope(grant),
        *when_given("r.unit_id = %s", wanted.get("unit")),
        *when_given("r.job_id = %s", wanted.get("job")),
    ]
    rows = fetch_page(RELEASES, conditions, ask)
    return replace(rows, items=[_document(row) for row in rows.items])


def find_release(grant: Grant, release: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return _document(fetch_one(RELEASES, [is_id("r.id", release), *_scope(grant)]))


def _scope(grant: Grant) -> list[Condition]:
    return [
        *shop_scope(grant, "j.shop_id"),
        *carrier_scope(grant, "u.carrier_id"),
        *when_given("r.released_at >= %s", grant.records_from),
        *when_given("r.released_at < %s", grant.records_to),
    ]


def _document(row: dict[str, Any]) -> dict[str, Any]:
    """Django hands JSON over as text."""
    suspensions = [_timed(found, "suspended_at") for found in orjson.loads(row["suspensions"])]
    return {
        **row,
        "suspensions": [{**found, "lifting": _timed(found["lifting"], "lifted_at")} for found in suspensions],
        "revocation": _timed(orjson.loads(row["revocation"] or "null"), "revoked_at"),
    }


def _timed(found: Any, name: str) -> Any:
    """The member `name` as a time, so that all times of an answer are written alike."""
    return found and {**found, name: datetime.fromisoformat(found[name])}
