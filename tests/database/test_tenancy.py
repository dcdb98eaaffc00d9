"""A company sees its own rows and no others, in every table, whatever the application forgets."""

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import psycopg
import pytest
from psycopg import errors, sql

from tests.database.tables import TABLES
from tests.record import Record, build_record

Connect = Callable[[], psycopg.Connection[Any]]
TENANT_TABLES = [table for table in TABLES if table != "companies"]


@dataclass
class Two:
    """Two companies, each with an entry in its record."""

    ours: Record
    theirs: Record


@pytest.fixture(scope="module")
def two(django_db_setup: None, django_db_blocker: Any) -> Two:
    from django.db import connection

    with django_db_blocker.unblock():
        both = Two(build_record(procedures=["PR-11"]), build_record(procedures=["PR-11"]))
        for record in (both.ours, both.theirs):
            job = record.open_job()
            record.rebuild(job)
            record.release(job)
        connection.close()
    return both


def enter(connection: psycopg.Connection[Any], company: uuid.UUID) -> None:
    connection.execute("SELECT set_config('rebuild.company', %s, true)", [str(company)])


def count(connection: psycopg.Connection[Any], table: str, where: str = "true", *values: Any) -> int:
    query = sql.SQL("SELECT count(*) FROM {} WHERE " + where).format(sql.Identifier(table))  # type: ignore[arg-type]
    row = connection.execute(query, values).fetchone()
    assert row is not None
    return int(row[0])


def test_the_tables_that_are_asked_hold_rows_of_both(owner: psycopg.Connection[Any], two: Two) -> None:
    held = {
        table: count(owner, table, "company_id = %s", two.theirs.company)
        for table in ("entries", "jobs", "releases", "units", "device_keys", "access_tokens", "log_queue")
    }
    assert all(held.values()), held


@pytest.mark.parametrize("table", TENANT_TABLES)
def test_rows_of_another_company_are_not_there(application: Connect, two: Two, table: str) -> None:
    with application() as connection:
        enter(connection, two.ours.company)
        assert count(connection, table, "company_id <> %s", two.ours.company) == 0


def test_another_company_itself_is_not_there(application: Connect, two: Two) -> None:
    with application() as connection:
        enter(connection, two.ours.company)
        assert count(connection, "companies") == 1


@pytest.mark.parametrize("table", TABLES)
def test_no_company_entered_means_no_rows(application: Connect, two: Two, table: str) -> None:
    with application() as connection:
        assert count(connection, table) == 0


@pytest.mark.parametrize("table", ["entries", "jobs", "companies"])
def test_after_its_transaction_a_company_is_left(application: Connect, two: Two, table: str) -> None:
    connection = application()
    with connection.transaction():
        enter(connection, two.ours.company)
        assert count(connection, table) > 0
    left = connection.execute("SELECT current_setting('rebuild.company', true)").fetchone()
    assert left == ("",)
    assert count(connection, table) == 0


@pytest.mark.parametrize("company", ["none", "not a uuid"])
def test_a_company_that_is_no_id_is_an_error_and_shows_nothing(application: Connect, two: Two, company: str) -> None:
    with application() as connection:
        connection.execute("SELECT set_config('rebuild.company', %s, true)", [company])
        with pytest.raises(errors.InvalidTextRepresentation):
            count(connection, "entries")


@pytest.mark.parametrize("table", TENANT_TABLES)
def test_a_row_cannot_be_put_into_another_company(application: Connect, two: Two, table: str) -> None:
    statement = sql.SQL("INSERT INTO {} (company_id) VALUES (%s)").format(sql.Identifier(table))
    with application() as connection:
        enter(connection, two.ours.company)
        with pytest.raises(errors.InsufficientPrivilege, match="row-level security"):
            connection.execute(statement, [two.theirs.company])


@pytest.mark.parametrize("table", TENANT_TABLES)
def test_without_a_company_no_row_can_be_put_anywhere(application: Connect, two: Two, table: str) -> None:
    statement = sql.SQL("INSERT INTO {} (company_id) VALUES (%s)").format(sql.Identifier(table))
    with application() as connection, pytest.raises(errors.InsufficientPrivilege, match="row-level security"):
        connection.execute(statement, [two.theirs.company])


def test_an_update_reaches_no_row_of_another_company(application: Connect, two: Two) -> None:
    with application() as connection:
        enter(connection, two.ours.company)
        changed = connection.execute("UPDATE units SET number = 'stolen' WHERE company_id = %s", [two.theirs.company])
        assert changed.rowcount == 0


def test_the_queue_of_another_company_cannot_be_emptied(application: Connect, two: Two) -> None:
    with application() as connection:
        enter(connection, two.ours.company)
        gone = connection.execute("DELETE FROM log_queue WHERE company_id = %s", [two.theirs.company])
        assert gone.rowcount == 0


CROSSINGS = {
    "technician of their shop": (
        "INSERT INTO technicians (company_id, id, shop_id, initials, display_name, version)"
        " VALUES (%(ours)s, gen_random_uuid(), %(shop)s, 'ZZ', 'ZZ', 1)"
    ),
    "unit of their carrier": (
        "INSERT INTO units (company_id, id, carrier_id, number, kind, version, availability_version)"
        " VALUES (%(ours)s, gen_random_uuid(), %(carrier)s, '1', 'tractor', 1, 0)"
    ),
    "coupling on their unit": (
        "INSERT INTO couplings (company_id, id, model, unit_id, version)"
        " VALUES (%(ours)s, gen_random_uuid(), 'BW-T2', %(unit)s, 1)"
    ),
    "qualification of their technician": (
        "INSERT INTO qualification_grants (company_id, id, technician_id, scopes, valid_from, evidence, recorded_at,"
        " recorded_by) VALUES (%(ours)s, gen_random_uuid(), %(person)s, '{weld}', now(), 'x', now(), 'x')"
    ),
}


@pytest.mark.parametrize("crossing", CROSSINGS)
def test_a_reference_cannot_leave_the_company(application: Connect, two: Two, crossing: str) -> None:
    theirs = two.theirs
    values = {
        "ours": two.ours.company,
        "shop": theirs.shop,
        "carrier": theirs.carrier,
        "unit": theirs.units["PR-11"],
        "person": theirs.people["RM"],
    }
    with application() as connection:
        enter(connection, two.ours.company)
        with pytest.raises(errors.ForeignKeyViolation):
            connection.execute(CROSSINGS[crossing], values)  # type: ignore[arg-type]


def test_row_level_security_is_forced_on_every_table_of_a_company(owner: psycopg.Connection[Any]) -> None:
    rows = owner.execute(
        "SELECT c.relname, c.relrowsecurity AND c.relforcerowsecurity FROM pg_class c"
        " JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'company_id' AND NOT a.attisdropped"
        " WHERE c.relkind IN ('r', 'p') AND c.relnamespace = 'public'::regnamespace"
    ).fetchall()
    assert {table for table, _ in rows} == set(TENANT_TABLES)
    assert [table for table, forced in rows if not forced] == []
    assert owner.execute(
        "SELECT relrowsecurity AND relforcerowsecurity FROM pg_class WHERE relname = 'companies'"
    ).fetchone() == (True,)


def test_every_policy_that_concerns_the_application_asks_for_the_entered_company(
    owner: psycopg.Connection[Any],
) -> None:
    rows = owner.execute(
        "SELECT tablename, qual, with_check FROM pg_policies WHERE roles && '{public,rebuild_app}'::name[]"
    ).fetchall()
    assert {table for table, _, _ in rows} == set(TABLES)
    for table, qual, with_check in rows:
        column = "id" if table == "companies" else "company_id"
        assert qual == with_check == f"({column} = entered_company())", table


def test_every_reference_between_tables_of_a_company_is_composite(owner: psycopg.Connection[Any]) -> None:
    rows = owner.execute(
        "SELECT k.conname, (SELECT array_agg(a.attname::text) FROM pg_attribute a"
        "                   WHERE a.attrelid = k.conrelid AND a.attnum = ANY(k.conkey))"
        " FROM pg_constraint k WHERE k.contype = 'f' AND k.confrelid <> 'companies'::regclass"
        " AND k.conrelid IN (SELECT oid FROM pg_class WHERE relnamespace = 'public'::regnamespace)"
    ).fetchall()
    assert len(rows) > 30
    assert [name for name, columns in rows if "company_id" not in columns] == []


def test_every_reference_of_a_model_is_a_constraint_of_the_data_base(owner: psycopg.Connection[Any]) -> None:
    from django.apps import apps

    from shops.models.tenant_row import InsideCompany

    wanted = {
        (model._meta.db_table, column.column)
        for model in apps.get_models()
        for column in model._meta.local_fields
        if isinstance(column, InsideCompany)
    }
    rows = owner.execute(
        "SELECT k.conrelid::regclass::text, a.attname FROM pg_constraint k"
        " JOIN pg_attribute a ON a.attrelid = k.conrelid AND a.attnum = ANY(k.conkey) WHERE k.contype = 'f'"
    ).fetchall()
    projection = {("entry_credits", "job_id")}  # rebuilt at any time, written in one statement with its entry
    assert wanted - set(rows) == projection
