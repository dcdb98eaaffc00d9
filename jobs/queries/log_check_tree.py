"""The log's tree, checked from the rows up in one pass: leaves, stored subtrees, signed roots.

A root that does not follow says that one of the leaves since the last good checkpoint was changed together with its
row; the first such root is reported, with the rows in question, since all later ones fail with it.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from operator import itemgetter
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.merkle import Frontier, Growth, append_leaves
from jobs.domain.record_fault import Fault, FaultCode
from jobs.queries.log import LoggedRow, leaves_between, log_size
from jobs.queries.log_rows import REHASH_BATCH, rehashed_leaves

_NODES: Final = """
SELECT level, "index", node_hash FROM log_nodes
WHERE company_id = %s AND ((("index" + 1) << level) - 1) BETWEEN %s AND %s
"""
_NODE_COUNT: Final = "SELECT count(*) FROM log_nodes WHERE company_id = %s"
_MOST_NAMED: Final = 50


def tree_faults(company: UUID, roots: Iterable[tuple[int, bytes]]) -> Iterator[Fault]:
    """Every fault of the tree; `roots` are the sizes and roots that were signed, in the data base or outside."""
    size = log_size(company)
    signed = sorted(set(roots))
    yield from _ahead(signed, size)
    frontier, good, whole = Frontier(), 0, True
    for start in range(0, size, REHASH_BATCH):
        end = min(start + REHASH_BATCH, size)
        leaves = list(rehashed_leaves(company, start, end))
        for leaf, now in leaves:
            yield from _row_faults(leaf, now)
        if len(leaves) < end - start:
            yield _gap([leaf.index for leaf, _ in leaves], start, end)
            whole = False
        if whole:
            growth = append_leaves(frontier, [leaf.leaf for leaf, _ in leaves])
            yield from _node_faults(company, growth, start, end - 1)
            here = [one for one in signed if frontier.size < one[0] <= end]
            good, fault = _first_bad_root(company, frontier, leaves, here, good)
            if fault is not None:
                yield fault
                signed = []
            frontier = growth.frontier
    if whole:
        yield from _spare_nodes(company, size)


def _row_faults(leaf: LoggedRow, now: bytes | None) -> Iterator[Fault]:
    if now is None:
        yield Fault(FaultCode.ROW_GONE, leaf.table, leaf.row, f"leaf {leaf.index} of the log names it; it is gone")
    elif now != leaf.leaf:
        yield Fault(FaultCode.LEAF_CHANGED, leaf.table, leaf.row, f"it is not what leaf {leaf.index} of the log says")


def _gap(found: Sequence[int], start: int, end: int) -> Fault:
    missing = sorted(set(range(start, end)) - set(found))
    message = f"{len(missing)} leaves are gone, the first is {missing[0]}; the tree cannot be checked from there on"
    return Fault(FaultCode.LOG_GAP, "log_leaves", None, message)


def _node_faults(company: UUID, growth: Growth, first: int, last: int) -> Iterator[Fault]:
    stored = {(level, index): bytes(value) for level, index, value in _rows(_NODES, [company, first, last])}
    for node, value in growth.nodes:
        if node[0] > 0 and stored.get(node) != value:
            level, index = node
            message = (
                f"the subtree over leaves {index << level} to {((index + 1) << level) - 1} does not follow from them"
            )
            yield Fault(FaultCode.LOG_NODE, "log_nodes", f"level {level} index {index}", message)


def _first_bad_root(
    company: UUID,
    before: Frontier,
    leaves: Sequence[tuple[LoggedRow, bytes | None]],
    signed: Sequence[tuple[int, bytes]],
    good: int,
) -> tuple[int, Fault | None]:
    """The largest size whose root follows, and the fault of the first that does not.

    A size may have two roots, one of them kept outside: that the other one follows makes nothing good.
    """
    for size, roots in groupby(signed, key=itemgetter(0)):
        part = [leaf.leaf for leaf, _ in leaves[: size - before.size]]
        follows = append_leaves(before, part).frontier.root()
        if any(root != follows for _, root in roots):
            return good, _changed_between(company, good, size)
        good = size
    return good, None


def _changed_between(company: UUID, good: int, bad: int) -> Fault:
    rows = leaves_between(company, good, min(bad, good + _MOST_NAMED))
    named = ", ".join(f"{leaf.table} {leaf.row}" for leaf in rows)
    more = f" and {bad - good - len(rows)} more" if bad - good > len(rows) else ""
    message = (
        f"the first {bad} leaves do not give the root that was signed for them, the first {good} do: one of the rows "
        f"between was changed together with its leaf: {named}{more}"
    )
    return Fault(FaultCode.CHECKPOINT_ROOT, "log_leaves", f"index {good} to {bad - 1}", message)


def _ahead(signed: Sequence[tuple[int, bytes]], size: int) -> Iterator[Fault]:
    if signed and signed[-1][0] > size:
        message = f"a checkpoint was signed over {signed[-1][0]} leaves, the log has {size}: its end was cut off"
        yield Fault(FaultCode.CHECKPOINT_AHEAD, "log_leaves", f"index {size} to {signed[-1][0] - 1}", message)


def _spare_nodes(company: UUID, size: int) -> Iterator[Fault]:
    """A tree of n leaves has n - (one bits of n) complete subtrees above its leaves."""
    spare = int(_rows(_NODE_COUNT, [company])[0][0]) - (size - size.bit_count())
    if spare > 0:
        yield Fault(FaultCode.LOG_NODE, "log_nodes", None, f"{spare} subtrees lie outside the log: its end was cut off")


def _rows(sql: str, values: list[Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return list(cursor.fetchall())
