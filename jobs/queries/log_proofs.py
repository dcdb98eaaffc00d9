"""Proofs out of the company's log, each from one read of O(log n) stored subtrees. The company is entered."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from jobs.domain.log_leaf import leaf_content
from jobs.domain.merkle import consistency_proof, inclusion_proof
from jobs.queries.log import LoggedRow, StoredCheckpoint, checkpoint_of_size, leaves_between, node_reader
from jobs.queries.log_rows import rows_by_id


@dataclass(frozen=True, slots=True)
class Inclusion:
    """That a leaf stands in the tree of `size` leaves; with the checkpoint of that size, if one was signed."""

    leaf: LoggedRow
    size: int
    proof: tuple[bytes, ...]
    checkpoint: StoredCheckpoint | None


def prove_inclusion(company: UUID, *, index: int, size: int) -> Inclusion:
    """Raises `MerkleError` for an index or size outside the log."""
    proof = inclusion_proof(index, size, node_reader(company))
    leaf = leaves_between(company, index, index + 1)[0]
    return Inclusion(leaf, size, proof, checkpoint_of_size(company, size))


def prove_consistency(company: UUID, *, first: int, second: int) -> tuple[bytes, ...]:
    """That the tree of `second` leaves continues the one of `first`; raises `MerkleError` for sizes outside."""
    return consistency_proof(first, second, node_reader(company))


def contents_of(company: UUID, leaves: Sequence[LoggedRow]) -> Mapping[int, bytes]:
    """What each leaf's hash is over, by index: the canonical JSON of its row as it stands. A query a table."""
    places: dict[str, dict[str, int]] = {}
    for leaf in leaves:
        places.setdefault(leaf.table, {})[str(leaf.row)] = leaf.index
    return {
        indexes[_id(row)]: leaf_content(table, row)
        for table, indexes in places.items()
        for row in rows_by_id(company, table, [UUID(row) for row in indexes])
    }


def _id(row: Mapping[str, Any]) -> str:
    return str(row["id"])
