"""What people read of retention: rules, legal holds, deletions, and what keeps a job's files."""

from dataclasses import asdict, replace
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

import orjson

from jobs.domain.retention import Keeping
from jobs.domain.retention_rules import RetentionRule
from jobs.queries.evidence_files import named_document, named_in_job
from jobs.queries.job_reach import date_scope
from jobs.queries.retention import keeping_of_files, keeping_of_jobs
from shops.domain.access import Grant
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import carrier_scope, is_id, shop_scope

LEGAL_HOLDS: Final = Listing(
    """
SELECT h.id, h.job_id AS job, h.unit_id AS unit, h.reason, h.placed_at, h.recorded_by,
  CASE WHEN l.id IS NOT NULL THEN jsonb_build_object('id', l.id, 'reason', l.reason, 'lifted_at', l.lifted_at,
    'recorded_by', l.recorded_by) END AS lifting
FROM legal_holds h
LEFT JOIN legal_hold_liftings l ON l.company_id = h.company_id AND l.hold_id = h.id
LEFT JOIN jobs j ON j.company_id = h.company_id AND j.id = h.job_id
LEFT JOIN units u ON u.company_id = h.company_id AND u.id = COALESCE(h.unit_id, j.unit_id)""",
    (OrderColumn("h.placed_at", "placed_at", KeyKind.TIME), OrderColumn("h.id", "id", KeyKind.ID)),
)
DELETIONS: Final = Listing(
    """
SELECT d.id, d.job_id AS job, d.digests::text AS digests, d.reason, d.left_control_on, COALESCE(k.kind, 'proposed')
  AS state, d.proposed_at, d.recorded_by,
  CASE WHEN k.id IS NOT NULL THEN jsonb_build_object('id', k.id, 'reason', k.reason, 'decided_at', k.decided_at,
    'recorded_by', k.recorded_by) END AS decision,
  (SELECT count(*) FROM evidence_removals r WHERE r.company_id = d.company_id AND r.deletion_id = d.id) AS removed
FROM evidence_deletions d
JOIN jobs j ON j.company_id = d.company_id AND j.id = d.job_id
JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id
LEFT JOIN evidence_deletion_decisions k ON k.company_id = d.company_id AND k.deletion_id = d.id""",
    (OrderColumn("d.proposed_at", "proposed_at", KeyKind.TIME), OrderColumn("d.id", "id", KeyKind.ID)),
)


def rule_document(rule: RetentionRule) -> dict[str, Any]:
    return {**asdict(rule), "start": rule.start.value}


def list_legal_holds(grant: Grant, ask: PageAsk) -> Rows:
    """A page of legal holds on records, lifted ones too, oldest first; those of the company concern everybody."""
    rows = fetch_page(LEGAL_HOLDS, _reach(grant, or_of_company=True), ask)
    return replace(rows, items=[_hold(row) for row in rows.items])


def find_legal_hold(grant: Grant, hold: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return _hold(fetch_one(LEGAL_HOLDS, [is_id("h.id", hold), *_reach(grant, or_of_company=True)]))


def list_deletions(grant: Grant, ask: PageAsk) -> Rows:
    """A page of deletions, oldest first."""
    rows = fetch_page(DELETIONS, _reach(grant), ask)
    return replace(rows, items=[_deletion(row) for row in rows.items])


def find_deletion(grant: Grant, deletion: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return _deletion(fetch_one(DELETIONS, [is_id("d.id", deletion), *_reach(grant)]))


def _reach(grant: Grant, *, or_of_company: bool = False) -> list[Condition]:
    """The token's shops, carriers and dates. A hold on a unit has no shop: whoever reaches its carrier sees it."""
    found = [*shop_scope(grant, "j.shop_id"), *date_scope(grant, "j")]
    no_job, no_unit = (" OR j.id IS NULL", " OR u.id IS NULL") if or_of_company else ("", "")
    return [
        *(Condition(f"({one.sql}{no_job})", one.values) for one in found),
        *(Condition(f"({one.sql}{no_unit})", one.values) for one in carrier_scope(grant, "u.carrier_id")),
    ]


def _hold(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "lifting": _told(row["lifting"], "lifted_at")}


def _deletion(row: dict[str, Any]) -> dict[str, Any]:
    decision = _told(row["decision"], "decided_at")
    return {**row, "digests": orjson.loads(row["digests"]), "decision": decision}


def _told(text: str | None, time: str) -> dict[str, Any] | None:
    """Django hands JSON over as text; times of an answer are all written alike."""
    found = orjson.loads(text or "null")
    return found and {**found, time: datetime.fromisoformat(found[time])}


def job_retention_document(grant: Grant, job: UUID, left_control: date | None, now: datetime) -> dict[str, Any]:
    """What of a job may go when: the clocks of its files, and for each file all that stands against it."""
    named = {one.digest: one for one in named_in_job(grant, job)}
    own = keeping_of_jobs(grant.company, [job], left_control=left_control, now=now)[job]
    keeping = keeping_of_files(grant.company, list(named), left_control=left_control, now=now)
    return {
        "job": job,
        "entries": "for ever",
        "clocks": [asdict(clock) for clock in own.clocks],
        "files": [
            _file(digest, named_document(one)["state"], _in_reach(grant, keeping[digest], own))
            for digest, one in named.items()
        ],
    }


def _in_reach(grant: Grant, keeping: list[Keeping], own: Keeping) -> list[Keeping]:
    """Other jobs that name the file are told to whom they may be told."""
    return [own] if grant.shops or grant.carriers or not keeping else keeping


def _file(digest: str, state: str, keeping: list[Keeping]) -> dict[str, Any]:
    obstacles = dict.fromkeys(found for one in keeping for found in one.obstacles)
    days = [one.may_go_on for one in keeping if one.may_go_on is not None]
    return {
        "digest": digest,
        "state": state,
        "may_go_on": max(days, default=None),
        "obstacles": [found.document() for found in obstacles] if state == "arrived" else [],
    }
