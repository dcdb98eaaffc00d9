"""The company's log as it stands: its size, nodes, leaves, queue, checkpoints and keys. The company is entered."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.merkle import Node, ReadNodes

_SIZE: Final = 'SELECT COALESCE(max("index") + 1, 0) FROM log_leaves WHERE company_id = %s'
_NEWS: Final = """
SELECT EXISTS (SELECT FROM log_leaves WHERE company_id = %s AND "index" >= %s AND table_name <> 'cosignatures')
"""
# LATERAL with LIMIT reads each node by its key, whatever the planner believes of a table that grew since.
_NODES: Final = """
SELECT 0, w."index", l.leaf_hash FROM unnest(%(leaves)s::bigint[]) AS w("index") CROSS JOIN LATERAL (
  SELECT leaf_hash FROM log_leaves WHERE company_id = %(company)s AND "index" = w."index" LIMIT 1) l
UNION ALL
SELECT w.level, w."index", n.node_hash FROM unnest(%(levels)s::int[], %(indexes)s::bigint[]) AS w(level, "index")
  CROSS JOIN LATERAL (SELECT node_hash FROM log_nodes
    WHERE company_id = %(company)s AND level = w.level AND "index" = w."index" LIMIT 1) n
"""
_QUEUED: Final = """
SELECT id, table_name, row_id FROM log_queue
WHERE company_id = %(company)s AND id > %(after)s ORDER BY id LIMIT %(limit)s
"""
_PLACED: Final = """
SELECT w.table_name, w.row_id FROM unnest(%s::text[], %s::uuid[]) AS w(table_name, row_id) CROSS JOIN LATERAL (
  SELECT FROM log_leaves WHERE company_id = %s AND table_name = w.table_name AND row_id = w.row_id LIMIT 1) l
"""
_LEAVES: Final = """
SELECT "index", table_name, row_id, leaf_hash FROM log_leaves
WHERE company_id = %s AND "index" >= %s AND "index" < %s ORDER BY "index"
"""
# A note is its log's signature and, line by line, the cosignatures that came since: more of it, never another text.
NOTE: Final = """checkpoints.note || COALESCE((
  SELECT string_agg(s.line || E'\\n', '' ORDER BY s.id) FROM cosignatures s
  WHERE s.company_id = checkpoints.company_id AND s.checkpoint_id = checkpoints.id), '')"""
_CHECKPOINTS: Final = f"SELECT id, size, root, {NOTE}, signed_at FROM checkpoints WHERE company_id = %s"


@dataclass(frozen=True, slots=True)
class QueuedRow:
    """A row that waits for its place in the log."""

    id: int
    table: str
    row: UUID


@dataclass(frozen=True, slots=True)
class LoggedRow:
    """A row's place in the log, and the leaf hash stored there."""

    index: int
    table: str
    row: UUID
    leaf: bytes


@dataclass(frozen=True, slots=True)
class StoredCheckpoint:
    """A signed checkpoint as stored: the note with its cosignatures, and what its columns say of it."""

    id: UUID
    size: int
    root: bytes
    note: str
    signed_at: datetime

    def document(self) -> dict[str, Any]:
        return {"size": self.size, "root": self.root.hex(), "signed_at": self.signed_at, "note": self.note}


@dataclass(frozen=True, slots=True)
class StoredLogKey:
    """A key of the log; `change` is the note by which the key before handed over, None for the first."""

    id: UUID
    number: int
    vkey: str
    change: str | None
    added_at: datetime


def log_size(company: UUID) -> int:
    """How many leaves the log has: the next position."""
    return int(_rows(_SIZE, [company])[0][0])


def has_news(company: UUID, size: int) -> bool:
    """Whether anything but cosignatures has come into the log behind its first `size` leaves."""
    return bool(_rows(_NEWS, [company, size])[0][0])


def node_reader(company: UUID) -> ReadNodes:
    """Reads nodes of the log, all in one query. Level 0 stands in the leaves."""

    def read(nodes: Sequence[Node]) -> Mapping[Node, bytes]:
        leaves = [index for level, index in nodes if level == 0]
        above = [node for node in nodes if node[0] > 0]
        levels, indexes = [node[0] for node in above], [node[1] for node in above]
        found = _rows(_NODES, {"company": company, "leaves": leaves, "levels": levels, "indexes": indexes})
        return {(level, index): bytes(value) for level, index, value in found}

    return read


def queued_rows(company: UUID, *, after: int, limit: int) -> list[QueuedRow]:
    """Committed rows of the queue, in the order in which they were queued."""
    found = _rows(_QUEUED, {"company": company, "after": after, "limit": limit})
    return [QueuedRow(*row) for row in found]


def array_text(values: Iterable[object]) -> str:
    """PostgreSQL's text of an array of numbers, ids, digests or names of logged tables: none of them needs a quote."""
    return "{" + ",".join(map(str, values)) + "}"


def placed_rows(company: UUID, rows: Sequence[tuple[str, UUID]]) -> set[tuple[str, UUID]]:
    """Those of the rows (table, id) that have their place in the log."""
    found = _rows(_PLACED, [array_text(table for table, _ in rows), array_text(row for _, row in rows), company])
    return {(table, row) for table, row in found}


def leaves_between(company: UUID, first: int, end: int) -> list[LoggedRow]:
    """The leaves first .. end - 1, in order."""
    found = _rows(_LEAVES, [company, first, end])
    return [LoggedRow(index, table, row, bytes(leaf)) for index, table, row, leaf in found]


def place_of(company: UUID, table: str, row: UUID) -> int | None:
    """The row's position in the log; None while it has none."""
    sql = 'SELECT "index" FROM log_leaves WHERE company_id = %s AND table_name = %s AND row_id = %s'
    found = _rows(sql, [company, table, row])
    return int(found[0][0]) if found else None


def latest_checkpoint(company: UUID) -> StoredCheckpoint | None:
    return _checkpoint(f"{_CHECKPOINTS} ORDER BY size DESC LIMIT 1", [company])


def checkpoint_of_size(company: UUID, size: int) -> StoredCheckpoint | None:
    return _checkpoint(f"{_CHECKPOINTS} AND size = %s", [company, size])


def checkpoint_over(company: UUID, index: int) -> StoredCheckpoint | None:
    """The first checkpoint that contains the leaf at `index`: the row is older than its signature."""
    return _checkpoint(f"{_CHECKPOINTS} AND size > %s ORDER BY size LIMIT 1", [company, index])


def checkpoints_below(company: UUID, size: int | None, limit: int) -> list[StoredCheckpoint]:
    """Checkpoints of fewer leaves than `size` (None: all), the largest first."""
    sql = f"{_CHECKPOINTS} AND (%s::bigint IS NULL OR size < %s::bigint) ORDER BY size DESC LIMIT %s"
    return [_as_checkpoint(row) for row in _rows(sql, [company, size, size, limit])]


def log_keys(company: UUID) -> list[StoredLogKey]:
    """The log's keys, the first first."""
    sql = "SELECT id, number, vkey, change, added_at FROM log_keys WHERE company_id = %s ORDER BY number"
    return [StoredLogKey(*row) for row in _rows(sql, [company])]


def company_slug(company: UUID) -> str:
    return str(_rows("SELECT slug FROM companies WHERE id = %s", [company])[0][0])


def _checkpoint(sql: str, values: list[Any]) -> StoredCheckpoint | None:
    found = _rows(sql, values)
    return _as_checkpoint(found[0]) if found else None


def _as_checkpoint(row: tuple[Any, ...]) -> StoredCheckpoint:
    return StoredCheckpoint(row[0], row[1], bytes(row[2]), row[3], row[4])


def _rows(sql: str, values: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return list(cursor.fetchall())
