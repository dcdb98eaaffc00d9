"""The worker and its duties: one company's trouble is not another's, and a signal ends it cleanly."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from jobs.queries.database_url import database_url
from jobs.services.duties import Duty, do_duties
from tests.log_world import NOW, add_rows, new_company, opened_checkpoint, stored_leaves
from tests.tampering import unprotected

ROOT = Path(__file__).resolve().parents[2]


def environment(folder: Path) -> dict[str, str]:
    """Of a process that works on the test data base."""
    return {
        **os.environ,
        "DATABASE_URL": database_url(connection.get_connection_params()),
        "REBUILD_LOG_KEY_FILE": str(folder / "log-key.pem"),
        "REBUILD_CHECKPOINT_SECONDS": "0",
    }


def until(found: Callable[[], bool], seconds: float = 180) -> None:
    deadline = time.monotonic() + seconds
    while not found():
        assert time.monotonic() < deadline, "it did not happen in time"
        time.sleep(0.05)


def test_a_duty_that_fails_keeps_no_other_from_its_turn() -> None:
    companies, done, failed = [uuid4(), uuid4()], [], []

    def fails(*, company: UUID, now: Any) -> bool:
        raise RuntimeError(f"trouble with {company}")

    def works(*, company: UUID, now: Any) -> bool:
        done.append((company, now))
        return company == companies[0]

    more = do_duties(
        companies=lambda: companies,
        clock=lambda: NOW,
        failed=lambda duty, company, error: failed.append((duty.name, company, str(error))),
        resting={},
        duties=(Duty("fails", fails), Duty("works", works)),
    )
    assert more is True
    assert done == [(company, NOW) for company in companies]
    assert failed == [("fails", company, f"trouble with {company}") for company in companies]


def test_a_duty_that_failed_rests_before_it_is_tried_again() -> None:
    company, tried, resting = uuid4(), [], {}

    def fails(*, company: UUID, now: Any) -> bool:
        tried.append(now)
        raise RuntimeError("trouble")

    for second in (0, 1, 9, 10, 21):
        at = NOW + timedelta(seconds=second)
        do_duties(
            companies=lambda: [company],
            clock=lambda at=at: at,  # type: ignore[misc]
            failed=lambda *_: None,
            resting=resting,
            duties=(Duty("fails", fails),),
        )
    assert [(at - NOW).seconds for at in tried] == [0, 10, 21]


def test_a_duty_of_which_nothing_waits_rests_and_one_that_has_more_does_not() -> None:
    company, done, resting = uuid4(), [], {}

    def works(*, company: UUID, now: Any) -> bool:
        done.append((now - NOW).seconds)
        return now == NOW

    for second in (0, 1, 4, 6, 10, 11):
        at = NOW + timedelta(seconds=second)
        do_duties(
            companies=lambda: [company],
            clock=lambda at=at: at,  # type: ignore[misc]
            failed=lambda *_: None,
            resting=resting,
            duties=(Duty("works", works, timedelta(seconds=5)),),
        )
    assert done == [0, 1, 6, 11]


def test_a_worker_sequences_and_signs_for_every_company_and_stops_when_told(
    committed: Any, owner: Any, tmp_path: Path
) -> None:
    companies = [new_company(3), new_company(1)]
    worker = subprocess.Popen(
        [sys.executable, "manage.py", "work", "--poll", "0.05"], cwd=ROOT, env=environment(tmp_path)
    )
    try:
        until(lambda: all(opened_checkpoint(company) for company in companies))
        add_rows(companies[0], 2)
        until(lambda: opened_checkpoint(companies[0]).size == 7)  # type: ignore[union-attr]
        worker.send_signal(signal.SIGTERM)
        assert worker.wait(10) == 0
    finally:
        worker.kill()
    assert len(stored_leaves(companies[1])) == 3


def test_a_broken_log_is_named_and_the_other_companies_go_on(
    committed: Any, owner: Any, settings: Any, tmp_path: Path, caplog: Any
) -> None:
    settings.LOG_KEY_FILE, settings.CHECKPOINT_SECONDS = tmp_path / "log-key.pem", 0
    broken = new_company()
    call_command("work", "--once")
    (row,) = add_rows(broken, 1)
    with unprotected(owner, "access_tokens"):
        owner.execute("DELETE FROM access_tokens WHERE id = %s", [row])
    other = new_company()
    call_command("work", "--once")
    assert f"access_tokens {row} was queued for the log but cannot be placed" in caplog.text
    assert opened_checkpoint(other) is not None
    owner.execute("DELETE FROM log_queue WHERE row_id = %s", [row])


def test_check_records_ends_with_1_and_names_the_row(
    committed: Any, owner: Any, settings: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings.LOG_KEY_FILE, settings.CHECKPOINT_SECONDS = tmp_path / "log-key.pem", 0
    company = new_company()
    (row,) = add_rows(company, 1)
    slug = owner.execute("SELECT slug FROM companies WHERE id = %s", [company]).fetchone()[0]
    call_command("work", "--once")
    kept = tmp_path / "kept.note"
    note = "SELECT note FROM checkpoints WHERE company_id = %s ORDER BY size DESC LIMIT 1"
    kept.write_text(owner.execute(note, [company]).fetchone()[0])
    call_command("check_records", "--company", slug, "--checkpoint", str(kept))
    assert "Nothing found" in capsys.readouterr().out
    other = new_company()
    others_slug = owner.execute("SELECT slug FROM companies WHERE id = %s", [other]).fetchone()[0]
    with pytest.raises(CommandError, match="is not checked here") as refused:  # and not "Nothing found"
        call_command("check_records", "--company", others_slug, "--checkpoint", str(kept))
    assert refused.value.returncode == 2
    with unprotected(owner, "access_tokens"):
        owner.execute("UPDATE access_tokens SET role = 'administrator' WHERE id = %s", [row])
    with pytest.raises(SystemExit) as ended:
        call_command("check_records", "--company", slug, "--json")
    assert ended.value.code == 1
    assert capsys.readouterr().out.startswith(
        f'{{"code": "leaf_changed", "table": "access_tokens", "row": "{row}", "message": "'
    )


def test_check_records_refuses_what_it_cannot_use(committed: Any, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="no company nobody") as refused:
        call_command("check_records", "--company", "nobody")
    with pytest.raises(CommandError, match="is no checkpoint"):
        call_command("check_records", "--checkpoint", str(tmp_path / "none"))
    with pytest.raises(CommandError, match="verifier key is refused"):
        call_command("check_records", "--log-key", "x")
    assert refused.value.returncode == 2
