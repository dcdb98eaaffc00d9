"""The worker: keeps every company's log, until it is told to stop."""

import logging
import signal
import threading
from datetime import UTC, datetime
from types import FrameType
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandParser
from django.db import DatabaseError, connection

from jobs.services.duties import DUTIES, OUTWARD_DUTIES, Duty, Resting, do_duties
from shops.queries.access import company_ids

log = logging.getLogger("rebuild.worker")
POLL_SECONDS = 0.5
RETRY_SECONDS = 2.0
LONGEST_STOP_SECONDS = 5.0  # what is being sent then is sent again later


class Command(BaseCommand):
    help = "Sequence and sign the logs of all companies until SIGTERM or SIGINT; any number may run at once."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--poll", type=float, default=POLL_SECONDS, help="seconds between looks for work")
        parser.add_argument("--once", action="store_true", help="do what waits now, then stop")

    def handle(self, *_args: Any, **options: Any) -> None:
        stop = threading.Event()

        def told_to_stop(_number: int, _frame: FrameType | None) -> None:
            stop.set()

        if threading.current_thread() is threading.main_thread():
            signal.signal(signal.SIGTERM, told_to_stop)
            signal.signal(signal.SIGINT, told_to_stop)
        if options["once"]:
            self._rounds(stop, DUTIES, **options)
            self._rounds(stop, OUTWARD_DUTIES, **options)
            return
        outward = threading.Thread(target=self._outward, args=(stop, options), name="outward", daemon=True)
        outward.start()
        self._rounds(stop, DUTIES, **options)
        outward.join(LONGEST_STOP_SECONDS)

    def _outward(self, stop: threading.Event, options: dict[str, Any]) -> None:
        try:
            self._rounds(stop, OUTWARD_DUTIES, **options)
        finally:
            connection.close()

    def _rounds(
        self, stop: threading.Event, duties: tuple[Duty, ...], *, once: bool, poll: float, **_options: Any
    ) -> None:
        resting: Resting = {}
        while not stop.is_set():
            more, pause = self._round(poll, resting, duties)
            if once and not more:
                return
            if not more:
                stop.wait(pause)

    def _round(self, poll: float, resting: Resting, duties: tuple[Duty, ...]) -> tuple[bool, float]:
        """One round; whether more waits, and for how long to rest if not."""
        try:
            more = do_duties(companies=company_ids, clock=_now, failed=_failed, resting=resting, duties=duties)
        except DatabaseError as error:
            log.error("the data base does not answer: %s", str(error).strip())  # noqa: TRY400 (no use for a trace)
            connection.close()
            return False, RETRY_SECONDS
        return more, poll


def _now() -> datetime:
    return datetime.now(UTC)


def _failed(duty: Duty, company: UUID, error: Exception) -> None:
    log.error("duty %s of company %s failed: %s", duty.name, company, error, exc_info=error)
    if isinstance(error, DatabaseError):
        connection.close_if_unusable_or_obsolete()
