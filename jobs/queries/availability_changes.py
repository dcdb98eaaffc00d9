"""What may have changed a unit's availability, in the order of the company's log: committed rows only."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.availability_event import availability_event
from jobs.domain.log_key_change import log_origin
from jobs.queries.availability import availability_documents
from jobs.queries.log import company_slug
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
class Event:
    """What tells of one change: its `position` in the company's log, its id, and the event as it is sent or read."""

    position: int
    id: UUID
    document: dict[str, Any]


def events_after(grant: Grant, after: int, limit: int, now: datetime) -> list[Event]:
    """Up to `limit` events with a place in the log above `after`, of units in the token's reach, as they are `now`."""
    parameters = {"company": grant.company, "carriers": list(grant.carriers), "after": after, "limit": limit}
    changes = _rows(_AFTER, parameters)
    if not changes:
        return []
    units = list(dict.fromkeys(unit for _, _, unit, _ in changes))
    current = {one["unit"]: one for one in availability_documents(grant, units, now)}
    source = log_origin(company_slug(grant.company))
    return [
        Event(
            position,
            identifier,
            availability_event(
                source=source,
                position=position,
                identifier=identifier,
                unit=unit,
                changed_at=changed_at,
                availability=current[unit],
            ),
        )
        for position, identifier, unit, changed_at in changes
    ]


def units_with_passed_due_times(company: UUID, now: datetime) -> list[UUID]:
    """Units for which something fell due by `now` that no change has told of since."""
    return [row[0] for row in _rows(_PASSED, {"company": company, "now": now})]


def _rows(sql: str, parameters: dict[str, Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())
