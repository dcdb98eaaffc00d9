"""The two that are measured: how each is set up, and what its clients send."""

import json
import os
import pickle
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from typing import Any

import orjson
import psycopg

from tests.benchmarks.embedded_server import DatabaseServer
from tests.benchmarks.phones import Bay, Signed, phone_of
from tests.benchmarks.processes import ROOT, Server, Settings, processor_seconds, start_server
from tests.benchmarks.requests import post
from tests.benchmarks.work import contents, kit_of

JOB_LENGTH = 40  # entries that a job holds before the clock runs, and how many it gets after
BATCH = 100
JOBS_OF_A_BATCH = 2
MOST_CLIENTS = 16
Requests = list[list[bytes]]  # for each client


def run_python(environment: dict[str, str], *arguments: str) -> str:
    """What a module or script of this project prints."""
    done = subprocess.run(
        [sys.executable, "-W", "ignore", *arguments],
        cwd=ROOT,
        env={**os.environ, **environment},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    return done.stdout


def drive(server: Server, requests: Requests) -> dict[str, Any]:
    """Send the requests from a process of its own; what `load` says of it."""
    with tempfile.NamedTemporaryFile() as file:
        file.write(pickle.dumps((server.address, requests)))
        file.flush()
        return dict(json.loads(run_python({}, "-m", "tests.benchmarks.load", file.name)))


@dataclass
class Peer:
    """A model view set with token authentication and a history table."""

    server: Server
    token: str
    technician: int
    jobs: list[int]

    @classmethod
    def start(cls, database: DatabaseServer, settings: Settings) -> "Peer":
        environment = {"DATABASE_URL": database.create("peer")}
        made = json.loads(run_python(environment, "-m", "tests.benchmarks.peer.prepare", str(MOST_CLIENTS)))
        return cls(start_server("tests.benchmarks.peer.wsgi:application", settings, environment), **made)

    def processor_seconds(self) -> float:
        return processor_seconds(self.server.process.pid)

    def stop(self) -> None:
        self.server.stop()

    def singles(self, clients: int, jobs: int) -> Requests:
        """For each client, the last entries of `jobs` jobs."""
        numbers = [number for _ in range(jobs) for number in range(JOB_LENGTH)]
        return [[self._post(self.jobs[client], number) for number in numbers] for client in range(clients)]

    def _post(self, job: int, number: int) -> bytes:
        content = CONTENTS[number]
        body = {
            "job": job,
            "technician": self.technician,
            "kind": content.kind,
            "step": content.members.get("step", ""),
            "performed_at": "2026-03-02T11:30:00-06:00",
            "payload": content.members,
            "note": "",
        }
        return post("/entries", f"Token {self.token}", "application/json", orjson.dumps(body))


CONTENTS = contents(2 * JOB_LENGTH, kit_of("4107"))[JOB_LENGTH:]


@dataclass
class Ours:
    """The record."""

    server: Server
    environment: dict[str, str]
    company: str
    tokens: list[str]
    bays: list[Bay]
    jobs: list[str] = field(default_factory=list)
    worker: "subprocess.Popen[bytes] | None" = None

    @classmethod
    def start(cls, database: DatabaseServer, settings: Settings, jobs: int, *, worker: bool = False) -> "Ours":
        environment = {"DATABASE_URL": database.create("ours"), "REBUILD_ENVIRONMENT": "production"}
        run_python(environment, "manage.py", "migrate", "--verbosity", "0")
        prepare = ("-m", "tests.benchmarks.ours.prepare")
        made = json.loads(run_python(environment, *prepare, "company", str(MOST_CLIENTS)))
        bays = [Bay(phone_of(works), phone_of(verifies), made["procedure"]) for works, verifies in made["phones"]]
        opened = json.loads(run_python(environment, *prepare, "jobs", made["company"], str(jobs)))
        server = start_server("config.wsgi:application", settings, environment)
        return cls(server, environment, made["company"], made["tokens"], bays, opened, work(environment, worker))

    def settle(self) -> None:
        """Wait until the worker has sequenced all that was recorded, so that its work falls where it belongs."""
        if self.worker is None:
            return
        with psycopg.connect(self.environment["DATABASE_URL"], autocommit=True) as owner:
            while owner.execute("SELECT FROM log_queue LIMIT 1").fetchone() is not None:
                time.sleep(0.1)

    def processor_seconds(self) -> float:
        """Of the server and the worker."""
        spent = processor_seconds(self.server.process.pid)
        return spent + (processor_seconds(self.worker.pid) if self.worker else 0)

    def stop(self) -> None:
        self.server.stop()
        if self.worker:
            self.worker.terminate()
            self.worker.wait()

    def singles(self, clients: int, jobs: int) -> Requests:
        """For each client, the last entries of `jobs` jobs, one by one; what comes before them is recorded here."""
        taken = self._filled(clients, jobs)
        return [
            [self._single(client, signed) for job in mine for signed in self.bays[client].sign(job, JOB_LENGTH)]
            for client, mine in enumerate(taken)
        ]

    def batches(self, clients: int, batches: int) -> Requests:
        """For each client, batches of a hundred entries on two jobs that hold forty each."""
        taken = self._filled(clients, batches * JOBS_OF_A_BATCH)
        return [
            [
                self._batch(client, [signed for job in jobs for signed in self._half(client, job)])
                for jobs in zip(mine[::2], mine[1::2], strict=True)
            ]
            for client, mine in enumerate(taken)
        ]

    def _half(self, client: int, job: str) -> list[Signed]:
        return self.bays[client].sign(job, BATCH // JOBS_OF_A_BATCH)

    def _filled(self, clients: int, jobs: int) -> list[list[str]]:
        """Fresh jobs for each client, with their first forty entries recorded."""
        self.settle()
        taken = [[self.jobs.pop() for _ in range(jobs)] for _ in range(clients)]
        requests = [
            [self._batch(client, self.bays[client].sign(job, JOB_LENGTH)) for job in mine]
            for client, mine in enumerate(taken)
        ]
        finish(self.server, requests)
        self.settle()
        return taken

    def _single(self, client: int, signed: Signed) -> bytes:
        return post("/v1/entries", f"Bearer {self.tokens[client]}", "application/jose", signed.token)

    def _batch(self, client: int, signed: list[Signed]) -> bytes:
        body = orjson.dumps({"entries": [one.token.decode() for one in signed]})
        return post("/v1/entry_batches", f"Bearer {self.tokens[client]}", "application/json", body)


def work(environment: dict[str, str], wanted: bool) -> "subprocess.Popen[bytes] | None":
    """The worker, as `manage.py serve` starts it beside the server."""
    command = [sys.executable, "-W", "ignore", "manage.py", "work"]
    return subprocess.Popen(command, cwd=ROOT, env={**os.environ, **environment}) if wanted else None


def finish(server: Server, requests: Requests) -> None:
    """Send all of the requests over one connection; every entry must be stored."""
    whole = [request for mine in requests for request in mine]
    answer = drive(server, [whole])
    if answer["stored"] != len(whole) * JOB_LENGTH:
        raise RuntimeError(f"the jobs could not be filled: {answer['statuses']} {answer['refused']}")
