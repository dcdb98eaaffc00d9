"""The one registry of advisory lock keys, each held by company until its transaction ends."""

from enum import IntEnum
from uuid import UUID

from django.db import connection


class LockKey(IntEnum):
    """What a lock guards. A number is never used again for something else."""

    LOG = 1  # positions, nodes, checkpoints and keys of the company's log
    FOUND_BAD = 3  # which calibrations have been reported
    KITS = 4  # where kits are, and which recalls are published
    RETENTION = 6  # legal holds, and deletions of evidence files; taken before EVIDENCE
    EVIDENCE = 5  # whether a file has arrived or is deleted; `of` is its digest


def try_lock(company: UUID, key: LockKey) -> bool:
    """Take the lock if nobody holds it; it is given back when the transaction ends."""
    return _locked("SELECT pg_try_advisory_xact_lock(%s, hashtext(%s))", company, key)


def wait_for_lock(company: UUID, key: LockKey, of: str = "") -> None:
    """Take the lock, however long its holder needs. `of` narrows it to one thing of the company."""
    _locked("SELECT pg_advisory_xact_lock(%s, hashtext(%s)) IS NOT NULL", company, key, of)


def _locked(sql: str, company: UUID, key: LockKey, of: str = "") -> bool:
    with connection.cursor() as cursor:
        cursor.execute(sql, [int(key), f"{company}{of}"])
        return bool(cursor.fetchone()[0])
