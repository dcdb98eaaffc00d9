"""What the data base's owner can do: drop the triggers, change rows, and put the triggers back as they were."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from jobs.domain.log_leaf import LOGGED_TABLES
from shops.domain.row_protection import append_only, logged


@contextmanager
def unprotected(owner: Any, *tables: str) -> Iterator[None]:
    """No trigger stands in the way of changes to `tables`, nor a foreign key."""
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
