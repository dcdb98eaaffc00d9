"""History is not edited: every attempt on every append-only table, as the application and as the owner."""

from collections.abc import Callable
from typing import Any

import psycopg
import pytest
from psycopg import errors, sql

from tests.database.tables import APPEND_ONLY, CHANGING, PASSING, TABLES, insert_any_row

CHANGES = {
    "UPDATE": "UPDATE {} SET company_id = company_id",
    "DELETE": "DELETE FROM {}",
    "TRUNCATE": "TRUNCATE {} CASCADE",
}
Connect = Callable[[], psycopg.Connection[Any]]


def change(kind: str, table: str) -> sql.Composed:
    return sql.SQL(CHANGES[kind]).format(sql.Identifier(table))  # type: ignore[arg-type]


def test_the_design_names_what_history_is() -> None:
    assert {
        "entries",
        "device_keys",
        "key_revocations",
        "qualification_grants",
        "calibrations",
        "procedure_revisions",
        "kit_movements",
        "unit_holds",
        "unit_hold_clearings",
        "releases",
        "release_suspensions",
        "release_revocations",
        "access_log",
        "log_leaves",
        "checkpoints",
    } <= set(APPEND_ONLY)


@pytest.mark.parametrize("kind", CHANGES)
@pytest.mark.parametrize("table", APPEND_ONLY)
def test_the_application_cannot_change_history(application: Connect, table: str, kind: str) -> None:
    with application() as connection, pytest.raises(errors.InsufficientPrivilege):
        connection.execute(change(kind, table))


@pytest.mark.parametrize("table", ["log_queue", "entry_credits", "jobs", "units"])
def test_the_application_cannot_truncate_what_it_may_change(application: Connect, table: str) -> None:
    with application() as connection, pytest.raises(errors.InsufficientPrivilege):
        connection.execute(change("TRUNCATE", table))


@pytest.mark.parametrize("table", sorted(CHANGING - PASSING))
def test_the_application_deletes_nothing(application: Connect, table: str) -> None:
    with application() as connection, pytest.raises(errors.InsufficientPrivilege):
        connection.execute(change("DELETE", table))


@pytest.mark.parametrize("mode", ["origin", "replica"])
@pytest.mark.parametrize("kind", CHANGES)
@pytest.mark.parametrize("table", APPEND_ONLY)
def test_the_owner_runs_into_a_trigger_too(owner: psycopg.Connection[Any], table: str, kind: str, mode: str) -> None:
    with owner.transaction(force_rollback=True):
        cursor = owner.cursor()
        cursor.execute("SET LOCAL session_replication_role = replica")
        insert_any_row(cursor, table)
        cursor.execute(f"SET LOCAL session_replication_role = {mode}")
        with pytest.raises(errors.RestrictViolation, match="append-only"):
            cursor.execute(change(kind, table))


def test_the_application_cannot_switch_triggers_off(application: Connect) -> None:
    with application() as connection, pytest.raises(errors.InsufficientPrivilege):
        connection.execute("SET session_replication_role = replica")


@pytest.mark.parametrize(
    "statement",
    [
        "ALTER TABLE entries DISABLE TRIGGER ALL",
        "DROP TRIGGER entries_refuse_change ON entries",
        "ALTER TABLE entries NO FORCE ROW LEVEL SECURITY",
        "DROP POLICY inside_company ON entries",
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE sql AS 'SELECT NULL'",
        "ALTER FUNCTION entered_company() OWNER TO rebuild_app",
        "DROP TABLE entries",
        "ALTER TABLE releases DROP CONSTRAINT releases_gate",
        "GRANT ALL ON entries TO rebuild_app",
        "CREATE TABLE notes (id int)",
        "CREATE TRIGGER mine BEFORE INSERT ON entries FOR EACH ROW EXECUTE FUNCTION refuse_change()",
        "COPY entries TO '/dev/null'",
        "COPY entries TO PROGRAM 'true'",
    ],
)
def test_the_application_cannot_take_the_protection_off(application: Connect, statement: str) -> None:
    with application() as connection:
        try:
            connection.execute(statement)
        except errors.InsufficientPrivilege:
            return
        granted = connection.execute("SELECT has_table_privilege('rebuild_app', 'entries', 'UPDATE')").fetchone()
        assert statement.startswith("GRANT"), statement
        assert granted == (False,)  # granting without the right to is a warning, and grants nothing


def test_exactly_the_append_only_tables_have_both_triggers_and_they_always_fire(
    owner: psycopg.Connection[Any],
) -> None:
    rows = owner.execute(
        "SELECT c.relname, t.tgname, t.tgenabled, t.tgtype FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
        " WHERE NOT t.tgisinternal AND t.tgfoid = 'refuse_change'::regproc"
    ).fetchall()
    guarded: dict[str, int] = {}
    for table, _, enabled, kind in rows:
        assert enabled == "A", table
        guarded[table] = guarded.get(table, 0) | kind
    row, before, delete, update, truncate = 1, 2, 8, 16, 32
    assert set(guarded) == set(APPEND_ONLY)
    assert all(kinds == row | before | delete | update | truncate for kinds in guarded.values())


def test_every_table_of_the_data_base_is_known_here(owner: psycopg.Connection[Any]) -> None:
    rows = owner.execute(
        "SELECT relname FROM pg_class WHERE relkind IN ('r', 'p') AND relnamespace = 'public'::regnamespace"
    ).fetchall()
    framework = {"django_migrations", "django_content_type"}
    assert {table for (table,) in rows} - framework == set(TABLES)


def test_rows_of_the_record_are_queued_for_the_log_by_a_trigger(owner: psycopg.Connection[Any]) -> None:
    rows = owner.execute(
        "SELECT c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
        " WHERE t.tgfoid = 'queue_for_log'::regproc"
    ).fetchall()
    outside_the_log = {"log_leaves", "log_nodes", "checkpoints"}
    assert {table for (table,) in rows} == set(APPEND_ONLY) - outside_the_log
