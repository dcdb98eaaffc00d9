"""Which jobs a token reaches: those of its shops and carriers that something happened to between its dates.

A job is between the dates if it was opened there, or an entry of it arrived there. Any other is as unknown to the token
as another company's, to read and to write. What is known of a job that is, but follows from all of its entries, is for
`jobs.services.require_undated` to keep back.

Example: a token for March finds the job that was opened in February and released in March; not the one that was
released in February.
"""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection

from jobs.queries.job_rows import JobRow
from shops.domain.access import Grant
from shops.queries.page import Condition
from shops.queries.scope import carrier_scope, shop_scope, when_given


def job_scope(grant: Grant) -> list[Condition]:
    """The token's shops, carriers and dates; `j` is the job, `u` its unit."""
    return [*shop_scope(grant, "j.shop_id"), *carrier_scope(grant, "u.carrier_id"), *date_scope(grant, "j")]


def date_scope(grant: Grant, job: str) -> list[Condition]:
    """Only jobs between the token's dates; none of them for a token without. `job`: what the query calls the job."""
    opened, arrived = _between(grant, f"{job}.opened_at"), _between(grant, "n.received_at")
    if not opened:
        return []
    has_entry = f"n.company_id = {job}.company_id AND n.job_id = {job}.id AND {_all(arrived)}"
    sql = f"({_all(opened)} OR EXISTS (SELECT FROM entries n WHERE {has_entry}))"
    return [Condition(sql, tuple(_values([*opened, *arrived])))]


def reaches_job(grant: Grant, job: JobRow) -> bool:
    """Whether the token reaches the job of this row. Asks the data base for tokens with dates alone."""
    is_of_it = grant.reaches_shop(job.shop) and grant.reaches_carrier(job.carrier)
    return is_of_it and is_between_dates(grant, job.id, job.opened_at)


def is_between_dates(grant: Grant, job: UUID, opened_at: datetime) -> bool:
    if grant.reaches_time(opened_at):
        return True
    arrived = [
        Condition("n.company_id = %s AND n.job_id = %s", (grant.company, job)),
        *_between(grant, "n.received_at"),
    ]
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT EXISTS (SELECT FROM entries n WHERE {_all(arrived)})", _values(arrived))
        return bool(cursor.fetchone()[0])


def _between(grant: Grant, column: str) -> list[Condition]:
    return [
        *when_given(f"{column} >= %s", grant.records_from),
        *when_given(f"{column} < %s", grant.records_to),
    ]


def _all(conditions: list[Condition]) -> str:
    return " AND ".join(one.sql for one in conditions)


def _values(conditions: list[Condition]) -> list[Any]:
    return [value for one in conditions for value in one.values]
