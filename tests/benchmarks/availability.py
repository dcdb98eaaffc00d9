"""Availability of a thousand units in one call: how many statements, and how long.

    python -m tests.benchmarks.availability

Of ten units, six have an open job with forty entries or none, and four have never been worked on. Statements are
counted inside this process, for 10, 100 and 1,000 units; they are those of the whole request, with the token's check
(BEGIN and COMMIT apart). The time is that of a request to a server of its own. Exits 1 if the count is not constant.
"""

import os
import socket
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from statistics import median
from typing import Any
from unittest.mock import patch
from uuid import UUID, uuid4

import orjson
import psycopg

from shops.queries.prepared import Statements
from tests.benchmarks.embedded_server import database_server
from tests.benchmarks.load import body_of, connect
from tests.benchmarks.processes import Settings
from tests.benchmarks.requests import post
from tests.benchmarks.sides import Ours

PATH = "/v1/availability_queries"
UNITS, WITH_JOB, WITH_ENTRIES, CALLS = 1000, 600, 100, 30


@contextmanager
def counted_statements() -> Iterator[list[str]]:
    """Every statement that is sent: by a cursor of the driver, Django's among them, or past them."""
    sent: list[str] = []

    def counting(execute: Any) -> Any:
        def counted(self: Any, *arguments: Any, **options: Any) -> Any:
            sent.append(str(arguments))
            return execute(self, *arguments, **options)

        return counted

    with (
        patch.object(psycopg.Cursor, "execute", counting(psycopg.Cursor.execute)),
        patch.object(Statements, "run", counting(Statements.run)),
    ):
        yield sent


def statements_by_size(environment: dict[str, str], token: str, units: list[str]) -> dict[int, int]:
    """Number of units asked for -> number of statements."""
    os.environ.update(environment, DJANGO_SETTINGS_MODULE="config.settings")
    import django
    from django.test import Client

    django.setup()
    client, found = Client(headers={"Authorization": f"Bearer {token}"}), {}
    for size in (1, 10, 100, UNITS):
        for _ in range(2):
            with counted_statements() as sent:
                answer = client.post(PATH, orjson.dumps({"units": units[:size]}), content_type="application/json")
            if answer.status_code != 200 or len(answer.json()["items"]) != size:
                raise RuntimeError(answer.content[:500])
        found[size] = len(sent)
    return found


def add_units_without_job(environment: dict[str, str], company: str, count: int) -> list[str]:
    """Units that were never worked on, written as the owner."""
    names = [uuid4() for _ in range(count)]
    with psycopg.connect(environment["DATABASE_URL"]) as owner:
        carrier = owner.execute("SELECT id FROM carriers WHERE company_id = %s", [company]).fetchone()
        owner.cursor().executemany(
            "INSERT INTO units (company_id, id, carrier_id, number, kind, version, availability_version)"
            " VALUES (%s, %s, %s, %s, 'tractor', 1, 0)",
            [(UUID(company), name, carrier[0] if carrier else None, name.hex) for name in names],
        )
        owner.commit()
        owner.autocommit = True
        owner.execute("ANALYZE")
    return [str(name) for name in names]


def milliseconds(connection: socket.socket, request: bytes) -> float:
    began, answer = time.perf_counter(), b""
    connection.sendall(request)
    while (body := body_of(answer)) is None:
        answer += connection.recv(1 << 20)
    took = 1000 * (time.perf_counter() - began)
    if answer[9:12] != b"200" or len(orjson.loads(body)["items"]) != UNITS:
        raise RuntimeError(answer[:500])
    return took


def main() -> int:
    with database_server() as database:
        ours = Ours.start(database, Settings(1, 1), WITH_JOB)
        try:
            units = list(ours.jobs)
            ours.singles(1, WITH_ENTRIES)
            units += add_units_without_job(ours.environment, ours.company, UNITS - WITH_JOB)
            counts = statements_by_size(ours.environment, ours.tokens[0], units)
            request = post(PATH, f"Bearer {ours.tokens[0]}", "application/json", orjson.dumps({"units": units}))
            with connect(ours.server.address) as connection:
                times = sorted(milliseconds(connection, request) for _ in range(CALLS))
        finally:
            ours.stop()
    print("statements of a call:", ", ".join(f"{size} units {count}" for size, count in counts.items()))
    print(f"{UNITS} units: median {median(times):.1f} ms, slowest of {CALLS} {times[-1]:.1f} ms")
    return int(len(set(counts.values())) > 1)


if __name__ == "__main__":
    sys.exit(main())
