"""The export as a stream: its own snapshot and connection, row-level security, breaking off, constant memory."""

import json
import logging
import tracemalloc
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import psycopg
import pytest
from django.db import transaction

from jobs.api.audit import BROKEN, Watched
from jobs.models.entry import Entry
from jobs.queries.entry_export import CHUNK, EntryExport, ExportForm
from jobs.queries.entry_search import EntryFilter
from shops.domain.access import Grant, Role
from tests.past import released_unit
from tests.record import build_record

NOW = datetime.now(UTC)
ALL = EntryFilter()


def grant_of(record):
    return Grant(uuid4(), record.company, "NU", Role.AUDITOR)


def opened(record, form=ExportForm.NDJSON):
    return EntryExport(grant_of(record), ALL, form)


@pytest.fixture
def full(record):
    """A company whose export is several chunks long."""
    past = released_unit(record, "4112", opened_at=NOW - timedelta(days=3))
    _add_entries(record, past, 600)
    return record


def _add_entries(record, past, count):
    with transaction.atomic():
        record.enter()
        first = Entry.objects.get(id=past.release)
        highest = Entry.objects.filter(job_id=past.job).count()
        values = {name: value for name, value in vars(first).items() if not name.startswith("_")}
        Entry.objects.bulk_create(
            Entry(
                **{
                    **values,
                    "id": uuid4(),
                    "position": highest + number,
                    "device_seq": uuid4().int % 2**40,
                    "payload": json.dumps({"note": "x" * 1500}),
                }
            )
            for number in range(1, count + 1)
        )


_SESSIONS = """
FROM pg_stat_activity WHERE datname = current_database() AND query LIKE 'COPY (SELECT%'
 AND state IN ('active', 'idle in transaction')
"""


@pytest.fixture
def sessions(owner):
    """How many exports are under way in this data base; with `settled`, once the server has noticed what was closed."""

    def count(*, settled=False):
        for _ in range(6000 if settled else 1):
            found = owner.execute(f"SELECT count(*) {_SESSIONS}").fetchone()[0]
            if not found:
                break
            if settled:
                owner.execute("SELECT pg_sleep(0.01)")
        return found

    return count


def test_an_export_comes_in_chunks_of_about_64_kib_that_hold_whole_rows(full):
    export = opened(full)
    chunks = list(export)
    assert len(chunks) > 5
    assert all(CHUNK <= len(chunk) < CHUNK + 4096 for chunk in chunks[:-1])
    assert all(chunk.endswith(b"}\n") for chunk in chunks)
    assert b"".join(chunks).count(b"\n") == export.count == 601


def test_an_export_is_one_snapshot_whatever_is_recorded_meanwhile(full):
    export = opened(full)
    released_unit(full, "4120", opened_at=NOW - timedelta(days=2))
    assert b"".join(export).count(b"\n") == export.count == 601
    assert opened(full).count == 602


def test_an_export_that_is_read_to_its_end_leaves_no_session(full, sessions):
    export = opened(full)
    assert sessions() == 1
    for _ in export:
        pass
    assert sessions(settled=True) == 0


def test_an_export_whose_reader_goes_away_ends_its_query(full, sessions):
    export = opened(full)
    next(export)
    export.close()
    assert sessions(settled=True) == 0
    with pytest.raises(psycopg.Error):
        list(export)


def test_an_export_that_is_closed_before_it_is_read_ends_its_query(full, sessions):
    export = opened(full)
    export.close()
    assert sessions(settled=True) == 0


def test_an_export_cannot_write(full):
    export = opened(full)
    list(export._chunks)
    export._copying.__exit__(None, None, None)
    with pytest.raises(psycopg.errors.ReadOnlySqlTransaction):
        export._cursor.execute("DELETE FROM log_queue")
    export.close()


def test_an_export_runs_as_the_applications_role(full):
    export = opened(full)
    role = export._connection.info.parameter_status("is_superuser")
    export.close()
    assert role == "off"


def test_copy_shows_the_application_no_row_of_another_company(full, application):
    stranger = build_record(procedures=())
    copied = []
    for company in (None, stranger.company, full.company):
        with application() as session, session.cursor() as cursor:
            if company:
                cursor.execute("SELECT set_config('rebuild.company', %s, true)", [str(company)])
            with cursor.copy("COPY (SELECT id FROM entries) TO STDOUT") as rows:
                copied.append(sum(1 for _ in rows))
    assert copied == [0, 0, 601]


@pytest.mark.parametrize("form", list(ExportForm))
def test_an_export_that_breaks_off_says_so_in_its_last_line_and_in_the_log(full, owner, sessions, caplog, form):
    export = Watched(opened(full, form), form)
    received = next(export)
    owner.execute(f"SELECT pg_terminate_backend(pid) {_SESSIONS}")
    with caplog.at_level(logging.ERROR, "rebuild.export"):
        received += b"".join(export)
    assert "an export broke off" in caplog.text
    assert received.endswith(BROKEN[form])
    assert received.count(b"\n") < export._export.count
    assert sessions(settled=True) == 0


def test_the_line_that_ends_a_broken_export_is_json_and_no_entry():
    line = json.loads(BROKEN[ExportForm.NDJSON])
    assert list(line) == ["problem"]
    assert line["problem"]["title"]


def test_the_memory_of_an_export_does_not_grow_with_it(full):
    def peak():
        tracemalloc.start()
        for _ in opened(full):
            pass
        _, highest = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return highest

    small = peak()
    past = released_unit(full, "4133", opened_at=NOW - timedelta(days=1))
    _add_entries(full, past, 3000)
    large = peak()
    assert large < small + CHUNK
