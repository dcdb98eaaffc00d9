"""The facts that decide whether units may go: one query for one unit or for a thousand, and one for estimates."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

import orjson
from django.db import connection

from jobs.domain.availability import (
    Availability,
    Hold,
    OpenJob,
    RebuildFacts,
    ReleaseFacts,
    Suspension,
    UnitFacts,
    availability,
)
from jobs.domain.ready_estimate import ReadyEstimate, ready_estimate
from shops.domain.access import Grant

COMPARED_FOR: Final = timedelta(days=365)
MOST_COMPARED: Final = 200

# `passed` counts the due times that passed before the next rebuild was opened and without what was due: the answer
# changed then without a row, and its version has to grow all the same. What has been counted stays counted; a job that
# was ever withdrawn ends no count, or the version would fall when an entry opens it again.
_FACTS: Final = """
SELECT u.id, u.availability_version + due.passed,
  last.id, last.state, last.opened_at,
  j.id, s.code, j.purpose, j.opened_at,
  COALESCE((j.summary->>'paused')::boolean, false) OR COALESCE((j.summary->>'holds')::int, 0) > 0,
  j.shop_id, jc.model,
  r.id, r.version, r.released_at,
  EXISTS (SELECT FROM couplings k WHERE k.company_id = u.company_id AND k.id = rj.coupling_id AND k.unit_id = u.id
          AND k.top_plate_id = rj.top_plate_id),
  v.revoked_at, v.reason, r.limited_until_follow_up, r.follow_up_due_at, f.completed_at, r.next_inspection_at,
  suspended.open, suspended.last_lifted, held.open, held.last_cleared,
  plate.casting_serial, plate.condemned_at, seen.version
FROM unnest(%(units)s::uuid[]) WITH ORDINALITY AS asked(id, place)
LEFT JOIN units u ON u.company_id = %(company)s::uuid AND u.id = asked.id
  AND (cardinality(%(carriers)s::uuid[]) = 0 OR u.carrier_id = ANY(%(carriers)s::uuid[]))
LEFT JOIN jobs j ON j.company_id = u.company_id AND j.unit_id = u.id AND j.state = 'open'
LEFT JOIN shops s ON s.company_id = j.company_id AND s.id = j.shop_id
LEFT JOIN couplings jc ON jc.company_id = j.company_id AND jc.id = j.coupling_id
LEFT JOIN LATERAL (
  SELECT l.id, l.state, l.opened_at FROM jobs l
  WHERE l.company_id = u.company_id AND l.unit_id = u.id AND l.purpose = 'rebuild' AND l.state <> 'abandoned'
  ORDER BY l.opened_at DESC, l.id DESC LIMIT 1) last ON true
LEFT JOIN LATERAL (
  SELECT * FROM releases n WHERE n.company_id = u.company_id AND n.unit_id = u.id
  ORDER BY n.version DESC LIMIT 1) r ON true
LEFT JOIN jobs rj ON rj.company_id = r.company_id AND rj.id = r.job_id
LEFT JOIN release_revocations v ON v.company_id = r.company_id AND v.release_id = r.id
LEFT JOIN follow_up_completions f ON f.company_id = r.company_id AND f.release_id = r.id
LEFT JOIN LATERAL (
  SELECT jsonb_agg(jsonb_build_array(x.id, x.code, x.reason, x.suspended_at) ORDER BY x.suspended_at, x.id)
           FILTER (WHERE y.id IS NULL) AS open, max(y.lifted_at) AS last_lifted
  FROM release_suspensions x
  LEFT JOIN suspension_liftings y ON y.company_id = x.company_id AND y.suspension_id = x.id
  WHERE x.company_id = r.company_id AND x.release_id = r.id) suspended ON true
LEFT JOIN LATERAL (
  SELECT jsonb_agg(jsonb_build_array(h.id, h.kind, h.reason, h.may_clear, h.held_at) ORDER BY h.held_at, h.id)
           FILTER (WHERE c.id IS NULL) AS open, max(c.cleared_at) AS last_cleared
  FROM unit_holds h
  LEFT JOIN unit_hold_clearings c ON c.company_id = h.company_id AND c.hold_id = h.id
  WHERE h.company_id = u.company_id AND h.unit_id = u.id) held ON true
LEFT JOIN LATERAL (
  SELECT t.casting_serial, d.condemned_at FROM couplings k
  JOIN condemnations d ON d.company_id = k.company_id AND d.top_plate_id = k.top_plate_id
  JOIN top_plates t ON t.company_id = k.company_id AND t.id = k.top_plate_id
  WHERE k.company_id = u.company_id AND k.unit_id = u.id ORDER BY d.condemned_at LIMIT 1) plate ON true
LEFT JOIN LATERAL (
  SELECT count(*) FILTER (WHERE q.next_inspection_at < m.until)
       + count(*) FILTER (WHERE q.limited_until_follow_up AND q.follow_up_due_at < m.until
                          AND (g.completed_at IS NULL OR g.completed_at > q.follow_up_due_at)) AS passed
  FROM (
    SELECT w.id, LEAST(%(now)s::timestamptz, min(w.opened_at) FILTER (WHERE x.id IS NULL) OVER (
      ORDER BY w.opened_at, w.id ROWS BETWEEN 1 FOLLOWING AND UNBOUNDED FOLLOWING)) AS until
    FROM jobs w LEFT JOIN job_withdrawals x ON x.company_id = w.company_id AND x.job_id = w.id
    WHERE w.company_id = u.company_id AND w.unit_id = u.id AND w.purpose = 'rebuild') m
  JOIN releases q ON q.company_id = u.company_id AND q.job_id = m.id
  LEFT JOIN follow_up_completions g ON g.company_id = q.company_id AND g.release_id = q.id) due ON true
LEFT JOIN LATERAL (
  SELECT max(a.availability_version) AS version FROM acknowledgements a
  WHERE a.company_id = u.company_id AND a.unit_id = u.id) seen ON true
ORDER BY asked.place
"""
_DURATIONS: Final = """
SELECT asked.shop, asked.model, ARRAY(
  SELECT r.released_at - j.opened_at
  FROM releases r
  JOIN jobs j ON j.company_id = r.company_id AND j.id = r.job_id
  JOIN couplings c ON c.company_id = j.company_id AND c.id = j.coupling_id
  WHERE r.company_id = %(company)s::uuid AND j.shop_id = asked.shop AND c.model = asked.model
    AND r.released_at > %(since)s::timestamptz AND r.released_at > j.opened_at
    AND NOT EXISTS (SELECT FROM release_revocations v WHERE v.company_id = r.company_id AND v.release_id = r.id)
  ORDER BY r.released_at DESC LIMIT %(most)s)
FROM unnest(%(shops)s::uuid[], %(models)s::text[]) AS asked(shop, model)
"""
_Kind = tuple[UUID, str]


@dataclass(frozen=True, slots=True)
class UnitRead:
    """A unit's facts; the kind of rebuild it is in (shop and model), and what dispatch has acknowledged last."""

    facts: UnitFacts
    in_work: _Kind | None
    acknowledged_version: int | None


def read_units(grant: Grant, units: Sequence[UUID], now: datetime) -> list[UnitRead | None]:
    """For each id in its order: the unit, or None for one that is unknown, out of scope or another company's."""
    parameters = {"company": grant.company, "carriers": list(grant.carriers), "units": list(units), "now": now}
    rows = _rows(_FACTS, parameters)
    return [None if row[0] is None else _unit(row) for row in rows]


def version_of(company: UUID, unit: UUID, now: datetime) -> int:
    """The availability version of a unit of the company."""
    rows = _rows(_FACTS, {"company": company, "carriers": [], "units": [unit], "now": now})
    return int(rows[0][1])


def availability_documents(grant: Grant, units: Sequence[UUID], now: datetime) -> list[dict[str, Any]]:
    """The availability of each unit in their order; `state` is not_found where there is none. Two queries at most."""
    reads = read_units(grant, units, now)
    answers = [None if read is None else availability(read.facts, now) for read in reads]
    waiting = {
        read.in_work
        for read, answer in zip(reads, answers, strict=True)
        if read is not None and answer is not None and read.in_work is not None and _only_in_work(read, answer)
    }
    durations = _durations(grant, sorted(waiting), now) if waiting else {}
    return [
        not_found_document(unit) if read is None or answer is None else _document(read, answer, durations, now)
        for unit, read, answer in zip(units, reads, answers, strict=True)
    ]


def not_found_document(unit: UUID) -> dict[str, Any]:
    return {
        "unit": unit,
        "state": "not_found",
        "availability_version": None,
        "since": None,
        "release": None,
        "release_version": None,
        "reasons": [],
        "ready_estimate": None,
        "acknowledged_version": None,
    }


def _document(
    read: UnitRead, answer: Availability, durations: Mapping[_Kind, Sequence[timedelta]], now: datetime
) -> dict[str, Any]:
    return {
        "unit": answer.unit,
        "state": answer.state.value,
        "availability_version": answer.version,
        "since": answer.since,
        "release": answer.release,
        "release_version": answer.release_version,
        "reasons": [
            {
                "code": reason.code,
                "what": reason.what,
                "cure": reason.cure,
                "since": reason.since,
                "due_at": reason.due_at,
                "about": reason.about,
            }
            for reason in answer.reasons
        ],
        "ready_estimate": _estimate(read, answer, durations, now),
        "acknowledged_version": read.acknowledged_version,
    }


def _only_in_work(read: UnitRead, answer: Availability) -> bool:
    """Nothing but a rebuild that goes on stands against the unit."""
    job = read.facts.job
    alone = [reason.code for reason in answer.reasons] == ["job_open"]
    return alone and job is not None and job.purpose == "rebuild" and not job.is_stopped


def _estimate(
    read: UnitRead, answer: Availability, durations: Mapping[_Kind, Sequence[timedelta]], now: datetime
) -> dict[str, Any] | None:
    job = read.facts.job
    if job is None or read.in_work is None or not _only_in_work(read, answer):
        return None
    return _estimate_document(ready_estimate(job.opened_at, now, durations.get(read.in_work, ())))


def _estimate_document(found: ReadyEstimate | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {"likely_at": found.likely_at, "late_at": found.late_at, "rebuilds": found.rebuilds}


def _durations(grant: Grant, kinds: Sequence[_Kind], now: datetime) -> dict[_Kind, list[timedelta]]:
    parameters = {
        "company": grant.company,
        "shops": [shop for shop, _ in kinds],
        "models": [model for _, model in kinds],
        "since": now - COMPARED_FOR,
        "most": MOST_COMPARED,
    }
    return {(shop, model): found for shop, model, found in _rows(_DURATIONS, parameters)}


def _rows(sql: str, parameters: Mapping[str, Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())


def _unit(row: tuple[Any, ...]) -> UnitRead:
    job = None if row[5] is None else OpenJob(row[5], row[6], row[7], row[8], row[9])
    facts = UnitFacts(
        unit=row[0],
        version=row[1],
        rebuild=None if row[2] is None else RebuildFacts(*row[2:5]),
        job=job,
        release=None if row[12] is None else _release(row),
        holds=tuple(_hold(hold) for hold in _json_list(row[24])),
        last_cleared_at=row[25],
        condemned_casting=row[26],
        condemned_at=row[27],
    )
    return UnitRead(facts, None if job is None else (row[10], row[11]), row[28])


def _release(row: tuple[Any, ...]) -> ReleaseFacts:
    return ReleaseFacts(
        id=row[12],
        version=row[13],
        released_at=row[14],
        fits_coupling=row[15],
        revoked_at=row[16],
        revocation=row[17],
        needs_follow_up=row[18],
        follow_up_due_at=row[19],
        followed_up_at=row[20],
        next_inspection_at=row[21],
        suspensions=tuple(_suspension(suspension) for suspension in _json_list(row[22])),
        last_lifted_at=row[23],
    )


def _json_list(text: str | None) -> list[Any]:
    """Django hands JSON over as text."""
    found: list[Any] = orjson.loads(text) if text else []
    return found


def _suspension(found: list[Any]) -> Suspension:
    return Suspension(UUID(found[0]), found[1], found[2], datetime.fromisoformat(found[3]))


def _hold(found: list[Any]) -> Hold:
    return Hold(UUID(found[0]), found[1], found[2], found[3], datetime.fromisoformat(found[4]))
