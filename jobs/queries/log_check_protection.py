"""Whether the tables of the record are protected as the migrations left them: triggers and row-level security."""

from collections.abc import Iterator
from typing import Final

from django.db import connection

from jobs.domain.log_leaf import LOGGED_TABLES
from jobs.domain.record_fault import Fault, FaultCode

_LOG_TABLES: Final = ("log_leaves", "log_nodes", "checkpoints")
_TRIGGERS: Final = """
SELECT c.relname || '_' || wanted.name FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
JOIN unnest(%s::text[], %s::text[]) AS wanted(name, states)
  ON t.tgname = c.relname || '_' || wanted.name AND position(t.tgenabled::text IN wanted.states) > 0
WHERE c.relnamespace = 'public'::regnamespace
"""
_FORCED: Final = """
SELECT relname FROM pg_class
WHERE relnamespace = 'public'::regnamespace AND relrowsecurity AND relforcerowsecurity
"""
_ALWAYS: Final = "A"  # fires under session_replication_role = replica too
_AT_LEAST_USUALLY: Final = "OA"


def protection_faults() -> Iterator[Fault]:
    """Every trigger that is gone or switched off, and every table without forced row-level security."""
    kinds = {"refuse_change": _ALWAYS, "refuse_truncate": _ALWAYS, "queue_for_log": _AT_LEAST_USUALLY}
    with connection.cursor() as cursor:
        cursor.execute(_TRIGGERS, [list(kinds), list(kinds.values())])
        triggers = {row[0] for row in cursor.fetchall()}
        cursor.execute(_FORCED)
        forced = {row[0] for row in cursor.fetchall()}
    for table in (*LOGGED_TABLES, *_LOG_TABLES):
        wanted = [kind for kind in kinds if kind != "queue_for_log" or table in LOGGED_TABLES]
        missing = [kind for kind in wanted if f"{table}_{kind}" not in triggers]
        if missing:
            message = f"trigger {', '.join(missing)} is gone or switched off"
            yield Fault(FaultCode.TRIGGER_MISSING, table, None, message)
        if table not in forced:
            yield Fault(FaultCode.TRIGGER_MISSING, table, None, "row-level security is not forced")
