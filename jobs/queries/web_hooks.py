"""Web hooks: where events about availability go, and how far they have come. The company is entered."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from shops.domain.access import Grant
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import is_id

HOOKS: Final = Listing(
    """
SELECT h.id, h.address, h.label, h.carriers, h.registered_at, h.recorded_by, t.expires_at AS stands_until, e.ended_at,
  e.reason AS ending_reason,
  d.position, d.delivered_at, d.failures, d.failing_since, d.last_failure,
  CASE WHEN e.id IS NULL THEN d.next_try_at END AS next_try_at
FROM web_hooks h
JOIN web_hook_deliveries d ON d.company_id = h.company_id AND d.id = h.id
LEFT JOIN web_hook_endings e ON e.company_id = h.company_id AND e.hook_id = h.id
LEFT JOIN access_tokens t ON t.company_id = h.company_id AND t.id = h.token""",
    (OrderColumn("h.registered_at", "registered_at", KeyKind.TIME), OrderColumn("h.id", "id", KeyKind.ID)),
)
_DUE: Final = """
SELECT h.id, h.address, h.carriers, d.position, d.failures
FROM web_hooks h JOIN web_hook_deliveries d ON d.company_id = h.company_id AND d.id = h.id
WHERE h.company_id = %s AND d.next_try_at <= %s
  AND NOT EXISTS (SELECT FROM web_hook_endings e WHERE e.company_id = h.company_id AND e.hook_id = h.id)
ORDER BY h.id
"""
_BEREFT: Final = """
SELECT h.id, t.expires_at <= %(now)s FROM web_hooks h
LEFT JOIN access_tokens t ON t.company_id = h.company_id AND t.id = h.token
WHERE h.company_id = %(company)s
  AND NOT EXISTS (SELECT FROM web_hook_endings e WHERE e.company_id = h.company_id AND e.hook_id = h.id)
  AND (t.id IS NULL OR t.expires_at <= %(now)s OR EXISTS (
    SELECT FROM access_revocations r
    WHERE r.company_id = h.company_id AND r.token_id = t.id AND r.revoked_at <= %(now)s))
ORDER BY h.id
"""


@dataclass(frozen=True, slots=True)
class DueHook:
    """A hook whose turn it is: its last delivered position in the log, and how often it failed in a row since."""

    id: UUID
    address: str
    carriers: frozenset[UUID]
    position: int
    failures: int


def list_web_hooks(grant: Grant, ask: PageAsk) -> Rows:
    return fetch_page(HOOKS, _reach(grant), ask)


def find_web_hook(grant: Grant, hook: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(HOOKS, [is_id("h.id", hook), *_reach(grant)])


def due_hooks(company: UUID, now: datetime) -> list[DueHook]:
    with connection.cursor() as cursor:
        cursor.execute(_DUE, [company, now])
        return [
            DueHook(hook, address, frozenset(carriers), position, failures)
            for hook, address, carriers, position, failures in cursor.fetchall()
        ]


def bereft_hooks(company: UUID, now: datetime) -> dict[UUID, bool]:
    """Hooks that go on without a token that works: whether it expired, else it was revoked (or was never named)."""
    with connection.cursor() as cursor:
        cursor.execute(_BEREFT, {"company": company, "now": now})
        return {hook: bool(expired) for hook, expired in cursor.fetchall()}


def _reach(grant: Grant) -> list[Condition]:
    """Hooks that tell no more than one's own token could read."""
    if not grant.carriers:
        return []
    return [Condition("(cardinality(h.carriers) > 0 AND h.carriers <@ %s)", (list(grant.carriers),))]
