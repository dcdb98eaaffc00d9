"""Whether the tables of the record are protected as the migrations left them: triggers, policies, functions, rights."""

from collections.abc import Iterator
from typing import Any, Final

from django.db import connection

from jobs.domain.log_leaf import LOGGED_TABLES
from jobs.domain.record_fault import Fault, FaultCode
from jobs.queries.log_check_schema import schema_faults
from shops.domain.row_protection import APPLICATION_ROLE

_LOG_TABLES: Final = ("log_leaves", "log_nodes", "checkpoints")
_TRIGGERS: Final = """
SELECT c.relname || '_' || wanted.name FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
JOIN unnest(%s::text[], %s::text[]) AS wanted(name, states)
  ON t.tgname = c.relname || '_' || wanted.name AND position(t.tgenabled::text IN wanted.states) > 0
JOIN pg_proc f ON f.oid = t.tgfoid AND f.pronamespace = 'public'::regnamespace
  AND f.proname = CASE wanted.name WHEN 'queue_for_log' THEN 'queue_for_log' ELSE 'refuse_change' END
WHERE t.tgqual IS NULL AND c.relnamespace = 'public'::regnamespace
"""
_FORCED: Final = """
SELECT relname FROM pg_class
WHERE relnamespace = 'public'::regnamespace AND relrowsecurity AND relforcerowsecurity
"""
_OTHER_POLICIES: Final = """
SELECT p.tablename, p.policyname FROM pg_policies p
WHERE p.schemaname = 'public'
  AND NOT (p.policyname = 'inside_company' AND p.qual IS NOT DISTINCT FROM p.with_check
           AND p.qual IN ('(company_id = entered_company())', '(id = entered_company())'))
  AND NOT (p.policyname = 'owner_reads' AND p.cmd = 'SELECT' AND NOT p.roles && %s::name[])
"""
_RIGHTS: Final = """
SELECT name FROM unnest(%s::text[]) AS name
WHERE has_any_column_privilege(%s, name, 'update') OR has_table_privilege(%s, name, 'delete, truncate')
"""
_ALMIGHTY: Final = "SELECT 1 FROM pg_roles WHERE rolname = %s AND (rolsuper OR rolbypassrls)"
_ALWAYS: Final = "A"  # fires under session_replication_role = replica too
_AT_LEAST_USUALLY: Final = "OA"


def protection_faults() -> Iterator[Fault]:
    """Everything that protects the tables and is gone, switched off, or there in name only."""
    yield from _table_faults()
    yield from schema_faults()
    for table, policy in _rows(_OTHER_POLICIES, [["public", APPLICATION_ROLE]]):
        yield Fault(FaultCode.TRIGGER_MISSING, table, None, f"policy {policy} is none of the migrations'")
    tables = [*LOGGED_TABLES, *_LOG_TABLES]
    for (table,) in _rows(_RIGHTS, [tables, APPLICATION_ROLE, APPLICATION_ROLE]):
        yield Fault(FaultCode.TRIGGER_MISSING, table, None, f"{APPLICATION_ROLE} has a right to change or delete rows")
    if _rows(_ALMIGHTY, [APPLICATION_ROLE]):
        yield Fault(FaultCode.TRIGGER_MISSING, "", None, f"{APPLICATION_ROLE} passes row-level security")


def _table_faults() -> Iterator[Fault]:
    kinds = {"refuse_change": _ALWAYS, "refuse_truncate": _ALWAYS, "queue_for_log": _AT_LEAST_USUALLY}
    triggers = {row[0] for row in _rows(_TRIGGERS, [list(kinds), list(kinds.values())])}
    forced = {row[0] for row in _rows(_FORCED, [])}
    for table in (*LOGGED_TABLES, *_LOG_TABLES):
        wanted = [kind for kind in kinds if kind != "queue_for_log" or table in LOGGED_TABLES]
        missing = [kind for kind in wanted if f"{table}_{kind}" not in triggers]
        if missing:
            message = f"trigger {', '.join(missing)} is gone or switched off"
            yield Fault(FaultCode.TRIGGER_MISSING, table, None, message)
        if table not in forced:
            yield Fault(FaultCode.TRIGGER_MISSING, table, None, "row-level security is not forced")


def _rows(sql: str, parameters: list[Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())
