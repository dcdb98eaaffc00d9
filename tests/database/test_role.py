"""What the application's role is, owns and may: asked of the catalogue."""

from typing import Any

import psycopg
import pytest

from shops.domain.row_protection import APPLICATION_ROLE
from tests.database.tables import APPEND_ONLY, CHANGING, PASSING, TABLES

Owner = psycopg.Connection[Any]


def test_the_role_is_nobody_special(owner: Owner) -> None:
    flags = owner.execute(
        "SELECT rolsuper, rolbypassrls, rolcreatedb, rolcreaterole, rolreplication, rolinherit"
        " FROM pg_roles WHERE rolname = %s",
        [APPLICATION_ROLE],
    ).fetchone()
    assert flags == (False,) * 6


def test_the_role_is_a_member_of_no_other(owner: Owner) -> None:
    members = owner.execute(
        "SELECT count(*) FROM pg_auth_members WHERE member = %s::regrole", [APPLICATION_ROLE]
    ).fetchone()
    assert members == (0,)


@pytest.mark.parametrize(
    ("catalogue", "column"),
    [("pg_class", "relowner"), ("pg_proc", "proowner"), ("pg_namespace", "nspowner"), ("pg_type", "typowner")],
)
def test_the_role_owns_nothing(owner: Owner, catalogue: str, column: str) -> None:
    owned = owner.execute(
        f"SELECT count(*) FROM {catalogue} WHERE {column} = %s::regrole", [APPLICATION_ROLE]
    ).fetchone()
    assert owned == (0,)


def test_the_role_creates_nothing_in_the_schema(owner: Owner) -> None:
    rights = owner.execute(
        "SELECT has_schema_privilege(%(role)s, 'public', 'USAGE'), has_schema_privilege(%(role)s, 'public', 'CREATE'),"
        " has_database_privilege(%(role)s, current_database(), 'CREATE')",
        {"role": APPLICATION_ROLE},
    ).fetchone()
    assert rights == (True, False, False)


def rights_of(owner: Owner, table: str) -> set[str]:
    rows = owner.execute(
        "SELECT right_name FROM unnest(ARRAY['SELECT','INSERT','UPDATE','DELETE','TRUNCATE','REFERENCES','TRIGGER'])"
        " AS right_name WHERE has_table_privilege(%s, %s, right_name)",
        [APPLICATION_ROLE, table],
    ).fetchall()
    return {right for (right,) in rows}


@pytest.mark.parametrize("table", TABLES)
def test_no_table_gives_the_role_more_than_it_needs(owner: Owner, table: str) -> None:
    expected = {"SELECT", "INSERT", "DELETE"} if table in PASSING else {"SELECT", "INSERT"}
    assert rights_of(owner, table) == expected


def test_the_role_updates_named_columns_of_the_changing_tables_only(owner: Owner) -> None:
    rows = owner.execute(
        "SELECT table_name, column_name FROM information_schema.column_privileges"
        " WHERE grantee = %s AND privilege_type = 'UPDATE'",
        [APPLICATION_ROLE],
    ).fetchall()
    assert {table for table, _ in rows} <= CHANGING - {"log_queue"}
    assert not {table for table, _ in rows} & set(APPEND_ONLY)
    identity = {"id", "company_id", "entry_id", "job_id", "opened_at", "opened_by", "casting_serial", "facts_version"}
    assert {column for table, column in rows if table != "jobs"} & identity == set()
    assert {column for table, column in rows if table == "jobs"} & (identity - {"facts_version"}) == set()


def test_the_role_cannot_touch_the_history_of_migrations(owner: Owner) -> None:
    assert rights_of(owner, "django_migrations") == set()


def test_functions_that_run_as_their_owner_have_a_fixed_search_path(owner: Owner) -> None:
    rows = owner.execute(
        "SELECT proname, proconfig FROM pg_proc WHERE prosecdef AND pronamespace = 'public'::regnamespace"
    ).fetchall()
    assert rows
    assert all(config and any(item.startswith("search_path=") for item in config) for _, config in rows), rows
