"""What may have changed a unit's availability, in the order of the company's log: committed rows only."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from shops.domain.access import Grant

_AFTER: Final = """
SELECT l."index", c.id, c.unit_id, c.changed_at
FROM log_leaves l
JOIN availability_changes c ON c.company_id = l.company_id AND c.id = l.row_id
JOIN units u ON u.company_id = c.company_id AND u.id = c.unit_id
WHERE l.company_id = %(company)s AND l.table_name = 'availability_changes' AND l."index" > %(after)s
  AND (cardinality(%(carriers)s::uuid[]) = 0 OR u.carrier_id = ANY(%(carriers)s::uuid[]))
ORDER BY l."index" LIMIT %(limit)s
"""
# Until when a release is good without a row: its follow-up, its next inspection. Told once it has passed.
_PASSED: Final = """
SELECT DISTINCT r.unit_id FROM releases r
LEFT JOIN follow_up_completions f ON f.company_id = r.company_id AND f.release_id = r.id
CROSS JOIN LATERAL (
  SELECT max(due) AS due FROM (VALUES
    (r.next_inspection_at),
    (CASE WHEN r.limited_until_follow_up AND (f.completed_at IS NULL OR f.completed_at > r.follow_up_due_at)
          THEN r.follow_up_due_at END)) AS dues(due) WHERE due <= %(now)s) passed
WHERE r.company_id = %(company)s AND passed.due IS NOT NULL
  AND NOT EXISTS (SELECT FROM availability_changes c
    WHERE c.company_id = r.company_id AND c.unit_id = r.unit_id AND c.changed_at >= passed.due)
"""


@dataclass(frozen=True, slots=True)
class Change:
    """`position` in the company's log; `id` of the row; the unit, and when it was."""

    position: int
    id: UUID
    unit: UUID
    changed_at: datetime


def changes_after(grant: Grant, after: int, limit: int) -> list[Change]:
    """Up to `limit` changes with a place in the log above `after`, of units in the token's reach."""
    parameters = {"company": grant.company, "carriers": list(grant.carriers), "after": after, "limit": limit}
    return [Change(*row) for row in _rows(_AFTER, parameters)]


def units_with_passed_due_times(company: UUID, now: datetime) -> list[UUID]:
    """Units for which something fell due by `now` that no change has told of since."""
    return [row[0] for row in _rows(_PASSED, {"company": company, "now": now})]


def _rows(sql: str, parameters: dict[str, Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())
