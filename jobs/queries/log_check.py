"""The log of the entered company, checked: keys, checkpoints, queue, and what never came into it."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.checkpoint import Checkpoint, CheckpointError, open_checkpoint, text_digest
from jobs.domain.log_key_change import LogKeyError, follow_key_changes, log_origin
from jobs.domain.log_leaf import LOGGED_TABLES
from jobs.domain.record_fault import Fault, FaultCode
from jobs.domain.signed_note import NoteError, NoteKey, read_note_key
from jobs.queries.log import StoredCheckpoint, StoredLogKey, checkpoints_below, company_slug, log_keys, log_size
from jobs.queries.log_check_tree import tree_faults

_NOT_LOGGED: Final = """
SELECT t.id FROM {table} t WHERE t.company_id = %(company)s
  AND NOT EXISTS (SELECT FROM log_leaves l
                  WHERE l.company_id = t.company_id AND l.table_name = %(table)s AND l.row_id = t.id)
  AND NOT EXISTS (SELECT FROM log_queue q
                  WHERE q.company_id = t.company_id AND q.table_name = %(table)s AND q.row_id = t.id)
"""
_QUEUED_AGAIN: Final = """
SELECT q.table_name, q.row_id FROM log_queue q JOIN log_leaves l
  ON l.company_id = q.company_id AND l.table_name = q.table_name AND l.row_id = q.row_id WHERE q.company_id = %s
"""
_EVERY_QUEUED: Final = "SELECT table_name, array_agg(row_id) FROM log_queue WHERE company_id = %s GROUP BY table_name"
_AT_ONCE: Final = 1000
_THERE: Final = "SELECT id FROM {table} WHERE company_id = %s AND id = ANY(%s)"


def log_check(company: UUID, *, trusted_keys: Sequence[NoteKey] = (), kept: Sequence[bytes] = ()) -> Iterator[Fault]:
    """Every fault of the log. `kept` are checkpoints kept outside; `trusted_keys` the keys known from outside.

    Without `trusted_keys` the log's own first key is believed, which shows nothing against the data base's owner.
    """
    stored, keys = log_keys(company), list[NoteKey]()
    yield from _key_faults(stored, trusted_keys, keys)
    if any(key.name != log_origin(company_slug(company)) for key in keys):
        yield Fault(FaultCode.LOG_KEY, "companies", company, "its log has another name than its keys and checkpoints")
    if trusted_keys and not set(trusted_keys) & set(keys):
        keys = list(trusted_keys)
    checkpoints = {one.size: one for one in _every_checkpoint(company)}
    signed = [one for raw in kept for one in _opened(raw, keys)]
    yield from _kept_faults(kept, keys)
    yield from _kept_gone(kept, checkpoints, keys, log_size(company))
    yield from _queue_faults(company)
    for table in LOGGED_TABLES:
        yield from _not_logged(company, table)
    yield from _signature_faults(checkpoints, keys)
    roots = [(stored_one.size, stored_one.root) for stored_one in checkpoints.values()]
    yield from tree_faults(company, [*roots, *((one.size, one.root) for one in signed)])


def _key_faults(stored: Sequence[StoredLogKey], trusted: Sequence[NoteKey], keys: list[NoteKey]) -> Iterator[Fault]:
    """Fill `keys` with the recorded ones; each hand-over must hold, and one of them must be trusted."""
    if not stored:
        return
    try:
        keys.extend(read_note_key(one.vkey) for one in stored)
        changes = follow_key_changes(keys[0], [(one.change or "").encode() for one in stored[1:]])
    except (NoteError, LogKeyError) as error:
        yield Fault(FaultCode.LOG_KEY, "log_keys", stored[-1].id, str(error))
        return
    for one, read in zip(stored[1:], changes, strict=True):
        if read.change.new.vkey != one.vkey:
            yield Fault(FaultCode.LOG_KEY, "log_keys", one.id, "it is not the key that its hand-over names")
        if not read.by_old and read.change.new not in trusted:
            message = f"key {one.number} was not signed by the key before, which was lost: ask the company about it"
            yield Fault(FaultCode.LOG_KEY, "log_keys", one.id, message)
    if trusted and not set(trusted) & set(keys):
        yield Fault(FaultCode.LOG_KEY, "log_keys", stored[0].id, "the log's keys are not the one that is trusted")


def _kept_faults(kept: Sequence[bytes], keys: Sequence[NoteKey]) -> Iterator[Fault]:
    for raw in kept:
        try:
            open_checkpoint(raw, log_keys=keys)
        except (NoteError, CheckpointError) as error:
            yield Fault(FaultCode.CHECKPOINT_SIGNATURE, "", None, f"the kept checkpoint does not count here: {error}")


def _opened(raw: bytes, keys: Sequence[NoteKey]) -> list[Checkpoint]:
    try:
        return [open_checkpoint(raw, log_keys=keys).checkpoint]
    except (NoteError, CheckpointError):
        return []


def _queue_faults(company: UUID) -> Iterator[Fault]:
    for table, row in _rows(_QUEUED_AGAIN, [company]):
        yield Fault(FaultCode.ROW_QUEUED_AGAIN, table, row, "it has its place in the log and was written again")
    for table, rows in _rows(_EVERY_QUEUED, [company]):
        known = table in LOGGED_TABLES
        there = {row[0] for row in _rows(_THERE.format(table=table), [company, rows])} if known else set()
        for row in rows:
            if row not in there:
                yield Fault(FaultCode.ROW_GONE, table, row, "it was queued for the log and is gone")


def _not_logged(company: UUID, table: str) -> Iterator[Fault]:
    for (row,) in _rows(_NOT_LOGGED.format(table=table), {"company": company, "table": table}):
        yield Fault(FaultCode.ROW_NOT_LOGGED, table, row, "it was never queued for the log: written past the triggers")


def _signature_faults(checkpoints: Mapping[int, StoredCheckpoint], keys: Sequence[NoteKey]) -> Iterator[Fault]:
    for one in checkpoints.values():
        try:
            signed = open_checkpoint(one.note.encode(), log_keys=keys).checkpoint
        except (NoteError, CheckpointError) as error:
            yield Fault(FaultCode.CHECKPOINT_SIGNATURE, "checkpoints", one.id, str(error))
            continue
        yield from _before_faults(one, signed, checkpoints)
        told = (signed.size, signed.root, signed.signed_at or one.signed_at)
        if told != (one.size, one.root, one.signed_at):
            yield Fault(FaultCode.CHECKPOINT_ROOT, "checkpoints", one.id, "its columns do not say what was signed")


def _before_faults(
    one: StoredCheckpoint, signed: Checkpoint, checkpoints: Mapping[int, StoredCheckpoint]
) -> Iterator[Fault]:
    """A checkpoint names the one before it; those of before they did so name none."""
    if signed.previous is None:
        return
    size, digest = signed.previous
    before = checkpoints.get(size)
    if before is None or _digest(before) != digest:
        message = f"the checkpoint of {size} leaves that it names as the one before it is gone, or another"
        yield Fault(FaultCode.CHECKPOINT_GONE, "checkpoints", one.id, message)


def _kept_gone(
    kept: Sequence[bytes], checkpoints: Mapping[int, StoredCheckpoint], keys: Sequence[NoteKey], size: int
) -> Iterator[Fault]:
    """What an auditor keeps was stored before it was served. One of more leaves than there are is told otherwise."""
    for raw in kept:
        for signed in _opened(raw, keys):
            stored = checkpoints.get(signed.size)
            if signed.size <= size and (stored is None or _digest(stored) != text_digest(raw)):
                message = f"the kept checkpoint of {signed.size} leaves is not stored: it is gone, or another"
                yield Fault(FaultCode.CHECKPOINT_GONE, "checkpoints", stored.id if stored else None, message)


def _digest(stored: StoredCheckpoint) -> str | None:
    try:
        return text_digest(stored.note.encode())
    except NoteError:
        return None  # its signature's fault is told


def _every_checkpoint(company: UUID) -> Iterator[StoredCheckpoint]:
    below: int | None = None
    while found := checkpoints_below(company, below, _AT_ONCE):
        yield from found
        below = found[-1].size


def _rows(sql: str, values: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return list(cursor.fetchall())
