"""The NDJSON export: does the server's memory stay the same however much is exported, and how fast is it?

    python -m tests.benchmarks.export [--entries 50000 200000]

The rows are copies of one job's signed entries, written as the data base's owner with triggers off: an export reads
rows as they are, and signing 200,000 entries would measure something else. Each size is exported by a server process
that has just begun and has answered one small export; its peak memory is the kernel's own figure. Exits 1 if the
peaks of the smallest and the largest export are more than a tenth apart.
"""

import argparse
import sys
import time
from uuid import uuid4

import psycopg

from tests.benchmarks.embedded_server import database_server
from tests.benchmarks.load import connect
from tests.benchmarks.processes import Settings, peak_megabytes, processor_seconds, start_server
from tests.benchmarks.sides import JOB_LENGTH, Ours

APPLICATION = "config.wsgi:application"
ONE_WORKER = Settings(1, 1)
COPY_ENTRIES = """
INSERT INTO entries (company_id, job_id, shop_id, unit_id, id, position, kind, step, technician_id, key, device_seq,
                     performed_at, received_at, skew_ms, token, payload, digest, previous, leaf)
SELECT company_id, job_id, shop_id, unit_id, gen_random_uuid(), position + round * 1000, kind, step, technician_id, key,
       device_seq + round * 1000, performed_at, received_at + round * interval '1 second', skew_ms, token, payload,
       digest, previous, leaf
FROM entries, generate_series(1, %s) AS round WHERE position <= %s AND round > %s
"""
COPY_CREDITS = """
INSERT INTO entry_credits (company_id, job_id, entry_id, credit, finding_codes, findings)
SELECT company_id, job_id, id, true, '{}', '[]' FROM entries WHERE id NOT IN (SELECT entry_id FROM entry_credits)
"""


def grow(uri: str, entries: int, copies: int) -> int:
    """Let the job have `entries` entries, where each was there `copies` times before; the new number of copies."""
    wanted = entries // JOB_LENGTH - 1
    with psycopg.connect(uri, autocommit=True) as owner:
        owner.execute("SET session_replication_role = replica")
        owner.execute("ALTER TABLE entries DISABLE ROW LEVEL SECURITY")
        owner.execute(COPY_ENTRIES, [wanted, JOB_LENGTH, copies])
        owner.execute(COPY_CREDITS)
        owner.execute("ALTER TABLE entries ENABLE ROW LEVEL SECURITY")
        owner.execute("VACUUM ANALYZE")
    return wanted


def let_an_auditor_in(uri: str, company: str) -> str:
    """A token of role auditor, made beside the application."""
    from shops.queries.access import token_hash

    token = uuid4().hex + uuid4().hex
    with psycopg.connect(uri) as owner:
        owner.execute(
            "INSERT INTO access_tokens (company_id, id, token_hash, label, role, shops, carriers, issued_at, expires_at,"
            " issued_by) VALUES (%s, %s, %s, 'NU', 'auditor', '{}', '{}', now(), now() + interval '1 day', 'benchmark')",
            [company, uuid4(), token_hash(token)],
        )
    return token


def export(address: tuple[str, int], token: str, query: str = "") -> tuple[int, int, float]:
    """Lines, bytes and seconds of an export."""
    request = f"GET /v1/entries.ndjson{query} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {token}\r\n"
    began, lines, size, last = time.perf_counter(), 0, 0, b""
    with connect(address) as connection:
        connection.sendall(f"{request}Connection: close\r\n\r\n".encode())
        while chunk := connection.recv(1 << 18):
            lines, size = lines + (last[-1:] + chunk).count(b"}\n"), size + len(chunk)
            last = (last + chunk)[-300:]
    if not last.endswith(b"0\r\n\r\n"):
        raise RuntimeError(f"the export broke off: {last!r}")
    return lines, size, time.perf_counter() - began


def measure(environment: dict[str, str], token: str, entries: int) -> float:
    """Export everything from a fresh server; print the figures, answer the peak."""
    server = start_server(APPLICATION, ONE_WORKER, environment)
    try:
        export(server.address, token, "?step=identify&received_to=2000-01-01T00:00:00Z")
        small, spent = peak_megabytes(server.process.pid), processor_seconds(server.process.pid)
        lines, size, seconds = export(server.address, token)
        spent = processor_seconds(server.process.pid) - spent
        peak = peak_megabytes(server.process.pid)
        if lines != entries:
            raise RuntimeError(f"{lines} lines for {entries} entries")
    finally:
        server.stop()
    print(
        f"{entries:9,} entries: {lines:9,} lines, {size / 1e6:7.1f} MB, {seconds:6.2f} s, {lines / seconds:9,.0f} a second,"
        f" server {1e6 * spent / entries:5.1f} us an entry, peak memory {small:6.1f} MB before, {peak:6.1f} MB after"
    )
    return peak


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--entries", type=int, nargs="+", default=[50_000, 200_000])
    sizes = sorted(asked.parse_args().entries)
    with database_server() as database:
        ours = Ours.start(database, ONE_WORKER, 1)
        try:
            ours.singles(1, 1)
        finally:
            ours.stop()
        token = let_an_auditor_in(ours.environment["DATABASE_URL"], ours.company)
        peaks, copies = [], 0
        for size in sizes:
            copies = grow(ours.environment["DATABASE_URL"], size, copies)
            peaks.append(measure(ours.environment, token, size))
    return int(peaks[-1] > 1.1 * peaks[0])


if __name__ == "__main__":
    sys.exit(main())
