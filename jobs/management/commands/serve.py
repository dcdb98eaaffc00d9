"""Serve the API and run its worker, until stopped: this process only starts, watches and stops the two."""

import os
import socket
import subprocess
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from jobs.management.supervisor import Supervisor
from jobs.queries.database_url import database_url

THREADS = 2
"""Per server process. Each keeps its data base connection."""


class Command(BaseCommand):
    help = "Bring the data base up to date, then serve the API and run the worker until SIGTERM or SIGINT."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="the loopback unless you say otherwise")
        parser.add_argument("--port", type=int, default=8300)
        parser.add_argument("--workers", type=int, default=min(2, os.cpu_count() or 1), help="server processes")
        parser.add_argument("--threads", type=int, default=THREADS, help="threads in each server process")
        parser.add_argument("--no-migrate", action="store_true", help="the data base is brought up to date elsewhere")

    def handle(self, *_args: Any, **options: Any) -> None:
        host, port = options["host"], options["port"]
        _refuse_taken_port(host, port)
        environment = {**os.environ, "DATABASE_URL": database_url(connection.get_connection_params())}
        if not options["no_migrate"]:
            _migrate(environment)
        supervisor = Supervisor(
            server=_server_command(host, port, options["workers"], options["threads"]),
            worker=[sys.executable, sys.argv[0], "work"],
            environment=environment,
            say=self._say,
        )
        code = supervisor.run(host, port)
        if code:
            sys.exit(code)

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def _server_command(host: str, port: int, workers: int, threads: int) -> list[str]:
    return [
        *(sys.executable, "-m", "granian", "--interface", "wsgi", "--http", "1", "--no-ws"),
        *("--host", host, "--port", str(port), "--workers", str(workers)),
        *("--blocking-threads", str(threads), "--blocking-threads-idle-timeout", "600"),
        *("--no-access-log", "--log-level", "warning", "--workers-kill-timeout", "10"),
        "config.wsgi:application",
    ]


def _refuse_taken_port(host: str, port: int) -> None:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError as error:
            raise CommandError(f"Cannot serve on {host}:{port}: {error.strerror}. Try --port.") from None


def _migrate(environment: dict[str, str]) -> None:
    command = [sys.executable, sys.argv[0], "migrate", "--verbosity", "0"]
    done = subprocess.run(command, env={**environment, "REBUILD_DATABASE_ROLE": "owner"}, check=False)  # noqa: S603
    if done.returncode:
        raise CommandError("The data base could not be brought up to date; nothing was started.")
