"""Offers of jobs to other shops, and what became of them."""

import sys
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.act_order import as_microseconds
from jobs.models.transfer import Transfer
from jobs.queries.job_reach import date_scope, is_between_dates
from jobs.queries.job_rows import JobRow
from shops.domain.access import Grant
from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_one, fetch_page
from shops.queries.scope import carrier_scope, is_id

TRANSFERS: Final = Listing(
    """
SELECT t.id, t.job_id AS job, t.from_shop_id AS from_shop, t.to_shop_id AS to_shop, t.reason, t.offered_at,
  t.recorded_by, CASE WHEN a.id IS NULL THEN 'open' WHEN a.accepted THEN 'accepted' ELSE 'declined' END AS state,
  a.id AS answer, a.reason AS answer_reason, a.answered_at, a.recorded_by AS answered_by
FROM transfers t LEFT JOIN transfer_answers a ON a.company_id = t.company_id AND a.transfer_id = t.id""",
    (OrderColumn("t.offered_at", "offered_at", KeyKind.TIME), OrderColumn("t.id", "id", KeyKind.ID)),
)
_OPEN: Final = """
SELECT f.code, s.code FROM transfers t
JOIN shops f ON f.company_id = t.company_id AND f.id = t.from_shop_id
JOIN shops s ON s.company_id = t.company_id AND s.id = t.to_shop_id
WHERE t.company_id = %s AND t.job_id = %s
  AND NOT EXISTS (SELECT FROM transfer_answers a WHERE a.company_id = t.company_id AND a.transfer_id = t.id)
"""
_GIVEN_AWAY: Final = """
SELECT max(a.answered_at) FROM transfers t
JOIN transfer_answers a ON a.company_id = t.company_id AND a.transfer_id = t.id AND a.accepted
WHERE t.company_id = %s AND t.job_id = %s AND t.from_shop_id = ANY(%s)
"""


def open_transfer(company: UUID, job: UUID) -> tuple[str, str] | None:
    """The codes of the shops between which the job is, if an offer waits for its answer."""
    with connection.cursor() as cursor:
        cursor.execute(_OPEN, [company, job])
        row = cursor.fetchone()
    return None if row is None else (row[0], row[1])


def last_reached(grant: Grant, job: JobRow) -> int | None:
    """Until when the token reaches what was done on the job, in microseconds since 1970; None if it never did.

    To the end of time where its shop has the job, else until that gave it away.
    """
    if not grant.reaches_carrier(job.carrier) or not is_between_dates(grant, job.id, job.opened_at):
        return None
    if grant.reaches_shop(job.shop):
        return sys.maxsize
    until = given_away_at(grant.company, job.id, grant.shops)
    return None if until is None else as_microseconds(until)


def given_away_at(company: UUID, job: UUID, shops: frozenset[UUID]) -> datetime | None:
    """When one of `shops` last gave the job to another; None if none ever did."""
    with connection.cursor() as cursor:
        cursor.execute(_GIVEN_AWAY, [company, job, list(shops)])
        found: datetime | None = cursor.fetchone()[0]
    return found


def list_offers(grant: Grant, ask: PageAsk, state: str | None) -> Rows:
    """A page of the transfers from and to the token's shops, oldest first."""
    shops = list(grant.shops)
    reached = [Condition("(t.from_shop_id = ANY(%s) OR t.to_shop_id = ANY(%s))", (shops, shops))] if shops else []
    return fetch_page(TRANSFERS, [*reached, *_of_jobs(grant), *_in_state(state)], ask)


def _of_jobs(grant: Grant) -> list[Condition]:
    """Of jobs on units of the token's carriers, between its dates."""
    found = [*carrier_scope(grant, "u.carrier_id"), *date_scope(grant, "j")]
    if not found:
        return []
    jobs = "SELECT j.id FROM jobs j JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id WHERE "
    values = tuple(value for one in found for value in one.values)
    return [Condition(f"t.job_id IN ({jobs}{' AND '.join(one.sql for one in found)})", values)]


def _in_state(state: str | None) -> list[Condition]:
    found = {"open": "a.id IS NULL", "accepted": "a.accepted", "declined": "NOT a.accepted"}
    return [] if state is None else [Condition(found[state])]


def list_transfers(job: UUID, ask: PageAsk) -> Rows:
    """A page of the job's transfers, oldest first."""
    return fetch_page(TRANSFERS, [Condition("t.job_id = %s", (job,))], ask)


def find_transfer(transfer: UUID) -> dict[str, Any]:
    """Raises NotFound."""
    return fetch_one(TRANSFERS, [is_id("t.id", transfer)])


def transfer_row(transfer: UUID) -> Transfer | None:
    return Transfer.objects.filter(id=transfer).first()
