"""Plays a rebuild from intake to proof against a server of its own, and leaves the server running to look around."""

import signal
import sys
import threading
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.demo.caller import UnexpectedAnswerError
from jobs.demo.closing import where_to_look
from jobs.demo.play import play
from jobs.demo.server import ServerStartError, free_port, running_server
from jobs.demo.telling import Telling, wants_colour


class Command(BaseCommand):
    help = (
        "Play a rebuild of the invented world over HTTP, from intake to release and proof. May be run again and again."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, help="of the server on the loopback; a free one unless you say which")
        parser.add_argument(
            "--once",
            action="store_true",
            default=not sys.stdout.isatty(),
            help="stop the server after the story; the default where standard output is no terminal",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        stream = sys.stdout
        telling = Telling(stream, colour=wants_colour(stream) and not options["no_color"])
        stop = threading.Event()
        signal.signal(signal.SIGTERM, lambda _number, _frame: stop.set())
        signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell ignores it for what it runs behind itself
        try:
            with running_server(options["port"] or free_port()) as base:
                stage, job = play(base, telling, datetime.now(UTC))
                where_to_look(stage, job, stays=not options["once"])
                while not options["once"] and not stop.wait(1.0):
                    pass
        except KeyboardInterrupt:
            telling.plain("\nStopped. The data stays.")
        except (ServerStartError, UnexpectedAnswerError) as error:
            raise CommandError(str(error)) from None
        if telling.surprises:
            raise CommandError(f"{len(telling.surprises)} things came out other than the story says.")
