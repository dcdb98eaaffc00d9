"""Appends, side by side: the record against the smallest honest view set with token authentication and history.

    python -m tests.benchmarks.appends [--rounds 5] [--workers 2] [--threads 4] [--no-worker] [--json FILE]

Starts a PostgreSQL of its own and both servers with the same settings, then measures in rounds, the two in turn and
in changing order, so that a machine that slows down slows both. What counts is the median over the rounds of the
ratio within a round. Exits 1 if a ratio is below what is asked of it.
"""

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from typing import TypeVar

from tests.benchmarks.embedded_server import DatabaseServer, database_server
from tests.benchmarks.processes import Settings, processor_seconds
from tests.benchmarks.sides import BATCH, JOBS_OF_A_BATCH, Ours, Peer, Requests, drive

CLIENTS = {1: 12, 8: 3, 16: 2}  # clients, and on how many jobs each of them works in a round
BATCHES = {1: 16, 8: 3, 16: 2}  # clients, and how many batches each of them sends in a round
SINGLE_WANTED, BATCH_WANTED = 1.5, 10.0
WARM = 1  # rounds that are run first and not counted


Side = TypeVar("Side", Peer, Ours)


@dataclass
class Series:
    """One kind of load on one side, over the rounds. Rates in entries a second, times in milliseconds."""

    rates: list[float] = field(default_factory=list)
    latencies: list[float] = field(default_factory=list)
    server: list[float] = field(default_factory=list)  # processor time of the server, an entry
    database: list[float] = field(default_factory=list)  # processor time of PostgreSQL, an entry
    load: list[float] = field(default_factory=list)  # processor time of the load, an entry

    def percentile(self, percent: int) -> float:
        ordered = sorted(self.latencies)
        return ordered[min(len(ordered) - 1, len(ordered) * percent // 100)]


@dataclass
class Measuring:
    database: DatabaseServer
    peer: Peer
    ours: Ours
    series: dict[tuple[str, int], Series] = field(default_factory=dict)

    def round(self, number: int, *, counted: bool) -> None:
        for clients, jobs in CLIENTS.items():
            turns: list[Callable[[], None]] = [
                lambda c=clients, j=jobs: self.measure("peer", c, self.peer.singles(c, j), 1, counted),
                lambda c=clients, j=jobs: self.measure("ours", c, self.ours.singles(c, j), 1, counted),
                lambda c=clients: self.measure("batch", c, self.ours.batches(c, BATCHES[c]), BATCH, counted),
            ]
            for turn in turns if number % 2 else reversed(turns):
                turn()

    def measure(self, kind: str, clients: int, requests: Requests, entries: int, counted: bool) -> None:
        side = self.peer if kind == "peer" else self.ours
        before = side.processor_seconds(), processor_seconds(self.database.process)
        answer = drive(side.server, requests)
        self.ours.settle()
        after = side.processor_seconds(), processor_seconds(self.database.process)
        done = len(answer["latencies"])
        if answer["stored"] != done * entries:
            raise RuntimeError(f"{kind}: {answer['statuses']} {answer['stored']} {answer['refused']}")
        if not counted:
            return
        series = self.series.setdefault((kind, clients), Series())
        sent = (done + clients - 1) * entries  # those still on the way when the clock stopped were served too
        series.rates.append(done * entries / answer["seconds"])
        series.latencies += answer["latencies"]
        series.server.append(1000 * (after[0] - before[0]) / sent)
        series.database.append(1000 * (after[1] - before[1]) / sent)
        series.load.append(1000 * answer["processor"] / (done * entries))

    def ratio(self, kind: str, clients: int) -> float:
        """The median over the rounds of this kind's rate over the peer's, one by one."""
        ours, peer = self.series[kind, clients].rates, self.series["peer", clients].rates
        return median(mine / its for mine, its in zip(ours, peer, strict=True))


NAMES = {"peer": "peer, one by one", "ours": "record, one by one", "batch": f"record, batches of {BATCH}"}
HEAD = f"{'':26}{'clients':>8}{'entries/s':>11}{'p50 ms':>9}{'p99 ms':>9}{'ratio':>8}{'cpu ms an entry: server':>26}{'database':>10}{'load':>7}"


def table(measuring: Measuring) -> str:
    lines = [HEAD]
    for clients in CLIENTS:
        for kind, name in NAMES.items():
            s = measuring.series[kind, clients]
            ratio = f"{measuring.ratio(kind, clients):.2f}" if kind != "peer" else ""
            lines.append(
                f"{name:26}{clients:8}{median(s.rates):11.0f}{s.percentile(50):9.2f}{s.percentile(99):9.2f}{ratio:>8}"
                f"{median(s.server):26.2f}{median(s.database):10.2f}{median(s.load):7.2f}"
            )
    return "\n".join(lines)


@contextmanager
def closing_side(side: Side) -> Iterator[Side]:
    try:
        yield side
    finally:
        side.stop()


def jobs_needed(rounds: int) -> int:
    a_round = sum(clients * (CLIENTS[clients] + BATCHES[clients] * JOBS_OF_A_BATCH) for clients in CLIENTS)
    return a_round * rounds


def run(rounds: int, settings: Settings, *, worker: bool) -> Measuring:
    with database_server() as database, closing_side(Peer.start(database, settings)) as peer:
        jobs = jobs_needed(rounds + WARM)
        with closing_side(Ours.start(database, settings, jobs, worker=worker)) as ours:
            measuring = Measuring(database, peer, ours)
            for number in range(rounds + WARM):
                measuring.round(number, counted=number >= WARM)
                print(f"round {number} of {rounds}", file=sys.stderr)
            return measuring


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--workers", type=int, default=2, help="server processes, as manage.py serve has them")
    asked.add_argument("--threads", type=int, default=2, help="threads of each, as manage.py serve has them")
    asked.add_argument("--no-worker", action="store_true", help="without the worker that sequences the log")
    asked.add_argument("--json", type=Path, help="write every round's figures here")
    options = asked.parse_args()
    settings = Settings(options.workers, options.threads)
    measuring = run(options.rounds, settings, worker=not options.no_worker)
    print(table(measuring))
    if options.json:
        figures = {f"{kind} {clients}": vars(series) for (kind, clients), series in measuring.series.items()}
        options.json.write_text(json.dumps(figures))
    return verdict(measuring)


def verdict(measuring: Measuring) -> int:
    """Say the ratios over all numbers of clients; 1 if any of them is below what is asked of it."""
    code = 0
    for kind, wanted in (("ours", SINGLE_WANTED), ("batch", BATCH_WANTED)):
        ratios = [measuring.ratio(kind, clients) for clients in CLIENTS]
        print(f"{NAMES[kind]}: {median(ratios):.2f} times the peer in the middle, {min(ratios):.2f} at least")
        code |= int(min(ratios) < wanted)
    return code


if __name__ == "__main__":
    sys.exit(main())
