"""How fast one worker sequences a log, and what a proof out of a large one costs.

    python -m tests.benchmarks.bench_log [--rows 100000] [--leaves 1000000]

On a PostgreSQL of its own. The rows are entries with bytes as long as real ones (the signatures are not read when
a row is sequenced). The large log for the proofs is written straight into its tables. Wanted: 100,000 leaves at
5,000 a second or better in one worker; a consistency proof between any two sizes of a million leaves within 10 ms.
"""

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import psycopg

from tests.benchmarks.embedded_server import database_server

ROWS = """
INSERT INTO entries (company_id, id, job_id, shop_id, unit_id, position, kind, step, technician_id, key, device_seq,
                     performed_at, received_at, skew_ms, token, payload, digest, previous, leaf)
SELECT %(company)s, gen_random_uuid(), %(job)s, %(job)s, %(job)s, n, 'step', 'left-jaw', %(job)s, repeat('k', 43), n,
       now(), now(), 0, repeat(md5(n::text), 32), repeat(md5(n::text), 20), sha256(n::text::bytea),
       sha256(n::text::bytea), sha256(n::text::bytea)
FROM generate_series(%(first)s::int, %(last)s::int) n
"""
LEAVES = """
INSERT INTO log_leaves (company_id, "index", table_name, row_id, leaf_hash)
SELECT %s, n, 'entries', gen_random_uuid(), sha256(n::text::bytea) FROM generate_series(0, %s - 1) n
"""
LEVEL = """
INSERT INTO log_nodes (company_id, level, "index", node_hash)
SELECT %(company)s, %(level)s, "index" / 2, sha256('\\x01'::bytea || string_agg(hash, ''::bytea ORDER BY "index"))
FROM ({below}) below GROUP BY "index" / 2 HAVING count(*) = 2
"""
FIRST_BELOW = 'SELECT "index", leaf_hash AS hash FROM log_leaves WHERE company_id = %(company)s'
BELOW = """SELECT "index", node_hash AS hash FROM log_nodes
 WHERE company_id = %(company)s AND level = %(level)s - 1"""


def new_company(owner: psycopg.Connection) -> UUID:
    company = uuid4()
    row = [company, "Brindlewick Road Services", company.hex]
    owner.execute(
        "INSERT INTO companies (id, name, slug, created_at, facts_version) VALUES (%s, %s, %s, now(), 0)", row
    )
    return company


def queue_rows(owner: psycopg.Connection, count: int) -> UUID:
    """Entries, and their queue, as if the API had stored them; references are not checked."""
    company, job = new_company(owner), uuid4()
    owner.execute("SET session_replication_role = replica")
    for first in range(1, count + 1, 10_000):
        last = min(first + 9_999, count)
        owner.execute(ROWS, {"company": company, "job": job, "first": first, "last": last})
    owner.execute("SET session_replication_role = origin")
    queue = "INSERT INTO log_queue (company_id, table_name, row_id) SELECT company_id, 'entries', id FROM entries"
    owner.execute(queue)
    owner.execute("VACUUM ANALYZE")
    return company


def large_log(owner: psycopg.Connection, leaves: int) -> UUID:
    company = new_company(owner)
    owner.execute(LEAVES, [company, leaves])
    for level in range(1, leaves.bit_length()):
        below = FIRST_BELOW if level == 1 else BELOW
        owner.execute(LEVEL.format(below=below), {"company": company, "level": level})
    owner.execute("VACUUM ANALYZE")
    return company


def measure_sequencing(company: UUID, rows: int) -> None:
    from jobs.services.log_key import log_key_file, read_or_make_log_keys
    from jobs.services.sequence_log import sequence_log
    from jobs.services.sign_checkpoint import sign_checkpoint

    keys = read_or_make_log_keys(log_key_file())
    started, spent = time.perf_counter(), time.process_time()
    placed = sequence_log(company=company).placed
    sequenced = time.perf_counter() - started
    checkpoint = sign_checkpoint(company=company, keys=keys, now=datetime.now(UTC))
    whole, spent = time.perf_counter() - started, time.process_time() - spent
    if placed != rows or checkpoint is None:
        raise SystemExit("the log is not whole")
    print(f"rows sequenced                     {placed:>10,}")
    print(f"sequenced a second                 {placed / sequenced:>10,.0f}")
    print(f"  with re-hashing and signature    {placed / whole:>10,.0f}")
    print(f"worker's processor time a row      {spent / placed * 1e6:>10,.0f} us")


def measure_proofs(company: UUID, leaves: int) -> None:
    from django.db import connection, transaction

    from jobs.domain.merkle import consistency_proof
    from jobs.queries.log import node_reader
    from jobs.queries.log_proofs import prove_consistency
    from shops.queries.access import enter_company

    choose = random.Random(412)
    pairs = [sorted((choose.randint(1, leaves), choose.randint(1, leaves))) for _ in range(500)]
    with transaction.atomic():
        enter_company(company)
        prove_consistency(company, first=1, second=leaves)
        times = timed([lambda f=f, s=s: prove_consistency(company, first=f, second=s) for f, s in pairs])
        spent, slow = max(timed_pairs(lambda f, s: prove_consistency(company, first=f, second=s), pairs))[1:]
        again = timed([lambda: prove_consistency(company, first=slow[0], second=slow[1])] * 50)
        read = node_reader(company)
        nodes = [reads(lambda wanted, f=f, s=s: consistency_proof(f, s, wanted), read) for f, s in pairs]
        connection.force_debug_cursor = True
        before = len(connection.queries)
        longest = max(len(prove_consistency(company, first=f, second=s)) for f, s in pairs[:50])
        queries = (len(connection.queries) - before) / 50
    print(f"leaves of the log for proofs       {leaves:>10,}")
    print(f"consistency proof, middle          {times[len(times) // 2]:>10.2f} ms")
    print(f"consistency proof, 99 in 100       {times[len(times) * 99 // 100]:>10.2f} ms")
    print(f"consistency proof, slowest         {times[-1]:>10.2f} ms")
    print(
        f"  processor time in it             {spent:>10.2f} ms; the same pair again, middle of 50: {again[25]:.2f} ms"
    )
    print(f"nodes read a proof, at most        {max(nodes):>10}   of 2 a level, {leaves.bit_length()} levels")
    print(f"queries a proof                    {queries:>10.0f}   hashes in the longest {longest}")


def timed_pairs(
    prove: Callable[[int, int], object], pairs: list[list[int]]
) -> list[tuple[float, float, tuple[int, int]]]:
    """For each pair the time on the wall and the processor's, in ms: what the machine did meanwhile is the difference."""
    found = []
    for first, second in pairs:
        started, spent = time.perf_counter(), time.process_time()
        prove(first, second)
        found.append(((time.perf_counter() - started) * 1000, (time.process_time() - spent) * 1000, (first, second)))
    return found


def reads(prove: Callable[[Callable[..., Any]], object], read: Callable[..., Any]) -> int:
    """How many nodes a proof asks for, in all its calls."""
    asked: list[int] = []

    def counting(nodes: Any) -> Any:
        asked.append(len(nodes))
        return read(nodes)

    prove(counting)
    return sum(asked)


def timed(calls: list[Callable[[], object]]) -> list[float]:
    times = []
    for call in calls:
        started = time.perf_counter()
        call()
        times.append((time.perf_counter() - started) * 1000)
    return sorted(times)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=100_000)
    parser.add_argument("--leaves", type=int, default=1_000_000)
    options = parser.parse_args()
    with database_server() as server, tempfile.TemporaryDirectory() as folder:
        os.environ["DATABASE_URL"] = server.uri
        os.environ["REBUILD_LOG_KEY_FILE"] = str(Path(folder) / "log-key.pem")
        os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
        subprocess.run([sys.executable, "manage.py", "migrate", "--verbosity", "0"], check=True)
        import django

        django.setup()
        with psycopg.connect(server.uri, autocommit=True) as owner:
            queued, large = queue_rows(owner, options.rows), large_log(owner, options.leaves)
        measure_sequencing(queued, options.rows)
        measure_proofs(large, options.leaves)


if __name__ == "__main__":
    main()
