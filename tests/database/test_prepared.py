"""Statements that go past the driver's cursors: the same values, errors and transactions as with them."""

import gc
import weakref
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import DatabaseError, IntegrityError, OperationalError, connection, transaction

from jobs.queries.log_rows import rows_by_id
from shops.queries.prepared import run, run_for_one

NOW = datetime(2026, 3, 2, 14, 5, 0, 250, tzinfo=UTC)
VALUES = [
    ("uuid", UUID("01a1458e-7b85-7656-81d2-4fc842225910")),
    ("timestamptz", NOW),
    ("text", "a gap of 3/16 in, “as found” %s $1"),
    ("bytea", bytes(range(256))),
    ("bool", True),
    ("bigint", 2**53),
    ("text[]", ["a", "b,c", '"']),
    ("uuid[]", [uuid4(), uuid4()]),
    ("int", None),
]


@pytest.mark.parametrize(("kind", "value"), VALUES, ids=lambda part: part if isinstance(part, str) else "")
def test_a_value_comes_back_as_a_cursor_gives_it(committed: Any, kind: str, value: Any) -> None:
    sql = f"SELECT %s::{kind}"
    with connection.cursor() as cursor:
        cursor.execute(sql, [value])
        assert run(sql, [value]) == cursor.fetchall() == [(value,)]


def test_a_parameter_with_a_name_is_sent_once_and_stands_wherever_it_is_named(committed: Any) -> None:
    sql = "SELECT %(b)s::int, %(a)s::text, %(b)s + 1"
    for a, b in (("x", 1), ("y", 70_000), ("z", 1)):  # the driver sends 1 and 70,000 as numbers of other sizes
        assert run_for_one(sql, {"a": a, "b": b}) == (b, a, b + 1)


def test_nothing_found_is_none_and_a_write_finds_nothing(committed: Any) -> None:
    assert run_for_one("SELECT 1 WHERE %s", [False]) is None
    assert run("SELECT set_config('rebuild.company', %s, true) WHERE false", [""]) == []


def test_all_statements_of_a_transaction_are_in_it(committed: Any) -> None:
    read = "SELECT current_setting('rebuild.company', true) WHERE %s"
    with transaction.atomic():
        run("SELECT set_config('rebuild.company', %s, true)", ["entered"])
        assert run_for_one(read, [True]) == ("entered",)
    assert run_for_one(read, [True]) == ("",)


def test_an_error_is_djangos_names_what_was_broken_and_leaves_the_connection_usable(committed: Any) -> None:
    sql = "INSERT INTO jobs (company_id, id) VALUES (%s, %s)"
    company = uuid4()
    with transaction.atomic():
        run("SELECT set_config('rebuild.company', %s, true)", [str(company)])
        with pytest.raises(IntegrityError) as caught, transaction.atomic():
            run(sql, [company, uuid4()])
    assert caught.value.__cause__.sqlstate == "23502"  # type: ignore[union-attr] # not_null_violation
    assert run_for_one("SELECT %s", [1]) == (1,)


def test_a_lost_connection_is_said_to_be_lost_and_the_next_request_has_a_new_one(committed: Any, owner: Any) -> None:
    (process,) = run_for_one("SELECT pg_backend_pid() WHERE %s", [True]) or (0,)
    owner.execute("SELECT pg_terminate_backend(%s, 5000)", [process])
    with pytest.raises(OperationalError), transaction.atomic():
        run("SELECT %s", [1])
    assert run_for_one("SELECT %s", [1]) == (1,)


def test_what_is_prepared_outlives_a_rollback_however_often_rows_were_read_through_the_driver(committed: Any) -> None:
    """The driver would answer the rollback with DEALLOCATE ALL, had it prepared the reading of the rows itself."""
    assert run_for_one("SELECT %s", [1]) == (1,)
    for _ in range(10):
        assert list(rows_by_id(uuid4(), "entries", [uuid4()])) == []
    with transaction.atomic():
        run_for_one("SELECT %s", [2])
        transaction.set_rollback(True)
    assert run_for_one("SELECT %s", [1]) == (1,)


def test_what_somebody_deallocated_fails_once_and_is_prepared_anew(committed: Any) -> None:
    assert run_for_one("SELECT %s", [1]) == (1,)
    with connection.cursor() as cursor:
        cursor.execute("DEALLOCATE ALL")
    with pytest.raises(DatabaseError):
        run_for_one("SELECT %s", [1])
    assert run_for_one("SELECT %s", [1]) == (1,)


def test_a_table_that_has_other_columns_by_now_fails_once(committed: Any) -> None:
    with transaction.atomic():
        run("CREATE TEMPORARY TABLE gauges (code text) ON COMMIT PRESERVE ROWS", [])
    assert run("SELECT * FROM gauges", []) == []
    run("ALTER TABLE gauges ADD COLUMN kind text", [])
    with pytest.raises(DatabaseError):
        run("SELECT * FROM gauges", [])
    assert run("SELECT * FROM gauges", []) == []


def test_a_connection_that_is_closed_is_forgotten(committed: Any) -> None:
    assert run_for_one("SELECT %s", [1]) == (1,)
    known = weakref.ref(connection.connection)
    connection.close()
    gc.collect()
    assert known() is None
