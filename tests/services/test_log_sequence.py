"""Sequencing: every committed row gets one place, whatever dies and whoever races."""

import os
import signal
import subprocess
import sys
import threading
import time
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection, transaction

from jobs.domain.log_leaf import LOGGED_TABLES, row_leaf
from jobs.queries.database_url import database_url
from jobs.queries.log_rows import rows_by_id
from jobs.services import sequence_log as sequencing
from jobs.services.sequence_log import Sequenced, sequence_batch, sequence_log
from shops.queries.access import enter_company
from tests.log_world import add_rows, assert_log_is_whole, new_company, queue_length, stored_leaves

STEPS = ("_insert_leaves", "_insert_nodes", "_delete_queued")


@pytest.fixture(autouse=True)
def _committed(committed: Any) -> None:
    pass


def test_every_queued_row_gets_one_place_in_the_order_of_the_queue() -> None:
    company = new_company()
    ids = add_rows(company, 12)
    assert sequence_log(company=company) == Sequenced(13)
    assert [leaf.row for leaf in stored_leaves(company)][1:] == ids
    assert_log_is_whole(company, 13)


def test_a_log_that_grows_in_small_batches_is_the_log_that_grows_at_once() -> None:
    company = new_company(10)
    while sequence_batch(company=company, limit=3).placed:
        pass
    assert_log_is_whole(company, 11)


def test_a_leaf_is_the_hash_of_the_row_as_it_stands() -> None:
    company = new_company(2)
    sequence_log(company=company)
    with transaction.atomic():
        enter_company(company)
        for leaf in stored_leaves(company):
            (row,) = rows_by_id(company, leaf.table, [leaf.row])
            assert row_leaf(leaf.table, row) == leaf.leaf


def test_the_tables_that_queue_their_rows_are_those_that_the_leaf_knows(owner: Any) -> None:
    sql = "SELECT tgrelid::regclass::text FROM pg_trigger WHERE tgname LIKE '%_queue_for_log'"
    assert {row[0] for row in owner.execute(sql)} == set(LOGGED_TABLES)


def test_a_row_that_is_not_committed_has_no_place_and_leaves_no_gap(application: Any) -> None:
    company = new_company()
    waiting = application()
    waiting.execute("SELECT set_config('rebuild.company', %s, false)", [str(company)])
    waiting.execute(
        "INSERT INTO access_tokens (id, company_id, token_hash, label, role, shops, carriers, issued_at, expires_at,"
        " issued_by) VALUES (%s, %s, %s, 'late', 'dispatch', '{}', '{}', now(), now(), 'administrator: NN')",
        [uuid4(), company, os.urandom(32)],
    )
    add_rows(company, 3)
    assert sequence_log(company=company).placed == 4
    waiting.commit()
    assert sequence_log(company=company).placed == 1
    assert_log_is_whole(company, 5)


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("after", [False, True])
def test_an_error_at_any_step_loses_and_doubles_nothing(
    monkeypatch: pytest.MonkeyPatch, step: str, after: bool
) -> None:
    company = new_company(7)
    real = getattr(sequencing, step)

    def fails(*arguments: Any) -> None:
        if after:
            real(*arguments)
        raise RuntimeError("killed here")

    monkeypatch.setattr(sequencing, step, fails)
    with pytest.raises(RuntimeError, match="killed here"):
        sequence_log(company=company)
    assert stored_leaves(company) == []
    assert queue_length(company) == 8
    monkeypatch.undo()
    assert sequence_log(company=company).placed == 8
    assert_log_is_whole(company, 8)


def test_two_sequencers_do_not_race() -> None:
    company = new_company(120)
    placed: list[int] = []
    errors: list[Exception] = []

    def sequence() -> None:
        try:
            placed.extend(sequence_batch(company=company, limit=7).placed for _ in range(40))
        except Exception as error:  # noqa: BLE001
            errors.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=sequence) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    while sequence_batch(company=company, limit=7).placed:
        pass
    assert errors == []
    assert_log_is_whole(company, 121)


def test_a_sequencer_that_finds_the_lock_taken_leaves_the_queue_to_its_holder(application: Any) -> None:
    company = new_company(3)
    holder = application()
    holder.execute("SELECT pg_advisory_xact_lock(1, hashtext(%s))", [str(company)])
    assert sequence_log(company=company) == Sequenced(0)
    holder.rollback()
    assert sequence_log(company=company).placed == 4


WORKER = """
import sys, django
django.setup()
from uuid import UUID
from jobs.services.sequence_log import sequence_batch
print("ready", flush=True)
while True:
    sequence_batch(company=UUID(sys.argv[1]), limit=3)
"""


def test_a_sequencer_killed_at_any_moment_loses_and_doubles_nothing() -> None:
    company, rows = new_company(20), 21
    environment = {
        **os.environ,
        "DATABASE_URL": database_url(connection.get_connection_params()),
        "DJANGO_SETTINGS_MODULE": "config.settings",
    }
    for turn in range(5):
        worker = subprocess.Popen(
            [sys.executable, "-c", WORKER, str(company)], env=environment, stdout=subprocess.PIPE, text=True
        )
        assert worker.stdout is not None
        assert worker.stdout.readline() == "ready\n"
        add_rows(company, 10)
        rows += 10
        time.sleep(0.003 * turn)
        worker.send_signal(signal.SIGKILL)
        worker.wait()
        worker.stdout.close()
    _wait_for_lock_and_sequence(company, rows)
    assert_log_is_whole(company, rows)


def _wait_for_lock_and_sequence(company: UUID, rows: int) -> None:
    """The server needs a moment to see that a killed client is gone."""
    deadline = time.monotonic() + 120
    while len(stored_leaves(company)) < rows and time.monotonic() < deadline:
        sequence_log(company=company)


def test_a_queued_row_that_is_gone_stays_queued_and_keeps_nobody_waiting(owner: Any) -> None:
    company = new_company(4)
    queue = "INSERT INTO log_queue (company_id, table_name, row_id) VALUES (%s, %s, %s)"
    gone = uuid4()
    owner.execute(queue, [company, "entries", gone])
    owner.execute(queue, [company, "pg_authid; DROP TABLE entries", uuid4()])
    add_rows(company, 2)
    sequenced = sequence_log(company=company)
    assert sequenced.placed == 7
    assert sequenced.left_over[0].row == gone
    assert len(sequenced.left_over) == 2
    assert queue_length(company) == 2
    owner.execute("DELETE FROM log_queue WHERE company_id = %s", [company])


def test_rows_that_cannot_be_placed_do_not_stop_those_behind_them(owner: Any) -> None:
    company = new_company()
    for _ in range(5):
        owner.execute(
            "INSERT INTO log_queue (company_id, table_name, row_id) VALUES (%s, 'entries', %s)", [company, uuid4()]
        )
    add_rows(company, 2)
    placed, after = 0, 0
    while True:
        batch = sequence_batch(company=company, after=after, limit=2)
        placed += batch.placed
        if batch.next_after is None:
            break
        after = batch.next_after
    assert placed == 3
    owner.execute("DELETE FROM log_queue WHERE company_id = %s", [company])


def test_a_row_queued_twice_has_one_place(owner: Any) -> None:
    company = new_company()
    (row,) = add_rows(company, 1)
    for _ in range(2):
        owner.execute(
            "INSERT INTO log_queue (company_id, table_name, row_id) VALUES (%s, 'access_tokens', %s)", [company, row]
        )
    assert sequence_log(company=company).placed == 2
    again = sequence_log(company=company)
    assert (again.placed, {one.row for one in again.left_over}) == (0, {row})
    owner.execute("DELETE FROM log_queue WHERE company_id = %s", [company])
    assert_log_is_whole(company, 2)
