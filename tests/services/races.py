"""Calls that run at once, each in a thread of its own with a data base connection of its own."""

import time
import uuid
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from threading import Barrier, Thread
from typing import Any

import psycopg
from django.db import connections

from tests.record import Record

Call = Callable[[], Any]
Connect = Callable[[], psycopg.Connection[Any]]
_WAITING = """
SELECT count(DISTINCT pid) FROM pg_locks JOIN pg_stat_activity USING (pid)
WHERE NOT granted AND datname = current_database() AND pid <> pg_backend_pid()
"""


class Running:
    """Calls that run each in a thread of its own, with a data base connection of its own."""

    def __init__(self, calls: Sequence[Call]) -> None:
        self._results: list[Any] = [None] * len(calls)
        self._barrier = Barrier(len(calls))
        self._threads = [Thread(target=self._run, args=(at, call)) for at, call in enumerate(calls)]
        for thread in self._threads:
            thread.start()

    def _run(self, at: int, call: Call) -> None:
        try:
            self._barrier.wait(60)
            self._results[at] = call()
        except BaseException as error:  # noqa: BLE001 # handed to the test's own thread
            self._results[at] = error
        finally:
            connections.close_all()

    def finish(self) -> list[Any]:
        for thread in self._threads:
            thread.join(120)
        assert not any(thread.is_alive() for thread in self._threads), "a call hangs"
        for result in self._results:
            if isinstance(result, BaseException):
                raise result
        return self._results


def race(*calls: Call) -> list[Any]:
    """What each call answered, in their order; all of them started at once."""
    return Running(calls).finish()


def statuses(answers: Sequence[Any]) -> list[int]:
    return sorted(answer.status_code for answer in answers)


@contextmanager
def job_locked(record: Record, job: uuid.UUID, connect: Connect) -> Iterator[Callable[[int], None]]:
    """Hold a job's row, and offer to wait until so many others wait for it: then they do race."""
    holder, watcher = connect(), connect()
    with holder.transaction():
        holder.execute("SELECT set_config('rebuild.company', %s, true)", [str(record.company)])
        holder.execute("SELECT 1 FROM jobs WHERE id = %s FOR UPDATE", [job])
        watcher.autocommit = True

        def wait_for(number: int) -> None:
            for _ in range(6000):
                row = watcher.execute(_WAITING).fetchone()
                if row and row[0] >= number:
                    return
                time.sleep(0.02)
            raise AssertionError("nobody waits for the job")

        yield wait_for
