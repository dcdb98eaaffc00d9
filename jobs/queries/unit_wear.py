"""The wear of a unit's coupling over its rebuilds, and when it is to be inspected next."""

from datetime import date, datetime
from fractions import Fraction
from typing import Any, NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import connection

from inspections.domain.next_inspection import InspectionInterval, NextInspection, next_inspection
from inspections.domain.quantities import parse_quantity, shown_number
from inspections.domain.wear import CONFIDENCE, distance_since_adjustment, judge_wear
from inspections.queries.wear_views import wear_document
from jobs.domain.facts import Facts
from jobs.domain.fold import fold
from jobs.domain.odometer import MILE
from jobs.domain.procedure import Procedure
from jobs.domain.wear_history import PlayPoint, Rebuild, daily_distance, points_of, rebuild_of, wear_points
from jobs.queries.company_facts import company_facts, facts_version
from jobs.queries.job_entries import entries_after
from jobs.queries.procedures import procedure_of
from shops.domain.access import Grant

# Of the coupling that is on the unit now; what was abandoned says nothing.
_REBUILDS = """
SELECT j.id, j.opened_at, p.digest, j.purpose, r.id, r.released_at, s.time_zone
FROM jobs j
JOIN couplings c ON c.company_id = j.company_id AND c.id = j.coupling_id AND c.unit_id = j.unit_id
JOIN shops s ON s.company_id = j.company_id AND s.id = j.shop_id
JOIN procedure_revisions p ON p.company_id = j.company_id AND p.id = j.procedure_id
LEFT JOIN releases r ON r.company_id = j.company_id AND r.job_id = j.id
WHERE j.company_id = %(company)s AND j.unit_id = %(unit)s AND j.purpose = 'rebuild' AND j.state <> 'abandoned'
  AND (%(version)s::bigint IS NULL OR r.version <= %(version)s)
  AND (cardinality(%(shops)s::uuid[]) = 0 OR j.shop_id = ANY(%(shops)s::uuid[]))
ORDER BY j.opened_at DESC, j.id DESC LIMIT %(most)s
"""
MOST_REBUILDS = 30
"""Older ones say little of the parts that are in now."""


class _Row(NamedTuple):
    job: UUID
    opened_at: datetime
    digest: str
    purpose: str
    release: UUID | None
    released_at: datetime | None
    time_zone: str


class History(NamedTuple):
    """The rebuilds that say something, and the last release among them with its procedure."""

    rebuilds: list[Rebuild]
    released: _Row | None
    procedure: Procedure | None


def history_of(grant: Grant, unit: UUID, facts: Facts, version: int | None = None) -> History:
    """The rebuilds of the unit's coupling that the token reaches, in order; up to the release of `version`."""
    parameters = {"company": grant.company, "unit": unit, "version": version, "shops": list(grant.shops)}
    with connection.cursor() as cursor:
        cursor.execute(_REBUILDS, {**parameters, "most": MOST_REBUILDS})
        rows = [_Row(*row) for row in reversed(cursor.fetchall())]
    rebuilds, released, procedure = [], None, None
    for row in rows:
        entries, _ = entries_after(grant.company, row.job, 0)
        bench = fold(procedure_of(row.digest, row.purpose), entries, facts).bench
        found = rebuild_of(row.job, row.released_at or row.opened_at, bench)
        if found is not None:
            rebuilds.append(found)
        if row.release is not None:
            released, procedure = row, bench.procedure
    return History(rebuilds, released, procedure)


def wear_of_unit(history: History, confidence: Fraction = CONFIDENCE) -> dict[str, Any]:
    """Points, regression, distance left; and the next inspection after the last release."""
    points = points_of(history.rebuilds)
    last = history.rebuilds[-1] if history.rebuilds else None
    limit = last.limit if last is not None else None
    wear = None
    if last is not None and limit is not None:
        measured = wear_points(points)
        now = measured[-1] if measured else None  # the latest: what an adjustment set has run nothing yet
        found = judge_wear(measured, limit, confidence, last.unit, MILE, now)
        wear = wear_document(found, len(points), last.unit, MILE)
    return {
        "points": [_point(point) for point in points],
        "limit": None if limit is None else shown_number(limit, None),
        "wear": wear,
        "next_inspection": inspection_document(history, confidence),
    }


def inspection_document(history: History, confidence: Fraction = CONFIDENCE) -> dict[str, Any] | None:
    """The earliest of calendar, distance and wear after the last release, with its reason; None without any."""
    released, procedure = history.released, history.procedure
    if released is None or released.released_at is None or procedure is None:
        return None
    at = next((one for one in history.rebuilds if one.job == released.job), None)
    interval = InspectionInterval(procedure.inspection_days, _miles(procedure.inspection_distance), MILE)
    left = _wear_left(history, at, confidence)
    if interval.days is None and interval.distance is None and left is None:
        return None
    since: date = released.released_at.astimezone(ZoneInfo(released.time_zone)).date()
    pace = daily_distance(history.rebuilds)
    odometer = at.odometer if at is not None else None
    return _inspection(next_inspection(since, odometer, interval, wear_left=left, daily_distance=pace))


def inspection_of(grant: Grant, unit: UUID, version: int) -> dict[str, Any] | None:
    """The next inspection as it follows from the unit's release of that version."""
    facts = company_facts(grant.company, facts_version(grant.company)).facts
    return inspection_document(history_of(grant, unit, facts, version))


def _wear_left(history: History, at: Rebuild | None, confidence: Fraction) -> Fraction | None:
    if at is None or at.limit is None:
        return None
    left = distance_since_adjustment(wear_points(points_of(history.rebuilds)), at.limit, confidence)
    return None if left is None else Fraction(left)


def _miles(distance: str | None) -> Fraction | None:
    if distance is None:
        return None
    text, _, unit = distance.rpartition(" ")
    return parse_quantity(text, unit).to(MILE)


def _inspection(found: NextInspection) -> dict[str, Any]:
    by_distance = found.by_distance
    return {
        "by_day": found.by_day,
        "by_odometer": None if by_distance is None else shown_number(by_distance, Fraction(1)),
        "unit": MILE,
        "distance_reason": found.distance_reason.value if found.distance_reason else None,
        "expected_on": found.expected_on,
        "reason": found.reason.value if found.reason else None,
        "message": found.message,
    }


def _point(point: PlayPoint) -> dict[str, Any]:
    odometer = point.odometer
    return {
        "job": point.job,
        "at": point.at,
        "odometer": None if odometer is None else shown_number(odometer, Fraction(1)),
        "distance": shown_number(point.distance, Fraction(1)),
        "play": shown_number(point.play, None),
        "kind": "as_found" if point.as_found else "after_adjusting",
    }
