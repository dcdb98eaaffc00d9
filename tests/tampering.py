"""What the data base's owner can do: drop the triggers, change rows, and put the triggers back as they were."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from uuid import UUID

import orjson
from django.db import transaction

from jobs.domain.log_leaf import LOGGED_TABLES
from jobs.queries.company_facts import facts_as_written
from jobs.queries.folds import fresh_fold
from jobs.queries.job_rows import job_row
from shops.domain.row_protection import append_only, logged
from shops.queries.access import enter_company


@contextmanager
def unprotected(owner: Any, *tables: str) -> Iterator[None]:
    """No trigger stands in the way of changes to `tables`, which are append-only, nor a foreign key."""
    assert set(tables) <= {*LOGGED_TABLES, "log_leaves", "log_nodes", "checkpoints"}, tables
    owner.execute("SET session_replication_role = replica")
    for table in tables:
        for name in ("refuse_change", "refuse_truncate", "queue_for_log"):
            owner.execute(f"DROP TRIGGER IF EXISTS {table}_{name} ON {table}")
    try:
        yield
    finally:
        for table in tables:
            owner.execute(append_only(table) + (logged(table) if table in LOGGED_TABLES else ""))
        owner.execute("SET session_replication_role = origin")


def mend_summary(owner: Any, company: UUID, job: UUID) -> None:
    """The job's figures for lists, as they follow from the entries that are left."""
    with transaction.atomic():
        enter_company(company)
        row = job_row(company, job)
        assert row is not None
        bench = fresh_fold(company, row, facts_as_written(company).facts).bench
    owner.execute("UPDATE jobs SET summary = %s WHERE id = %s", [orjson.dumps(bench.summary()).decode(), job])
