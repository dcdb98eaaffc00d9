"""The company log's Merkle tree: hashing, incremental append, proofs from stored nodes, verification.

Hashes are SHA-256, 32 bytes, as RFC 9162, 2.1 fixes them: a leaf is H(00 || data), a node H(01 || left ||
right), the empty tree H(""). A tree of n leaves splits at the largest power of two below n.

Storage. A *node* (level, index) is the complete subtree over the leaves index·2^level to (index +
1)·2^level - 1; it never changes once its last leaf is there, so it is stored once and never updated.
Appending leaf i completes the node (0, i) and one more for each trailing one bit of i. The *frontier* of a
tree of n leaves is its complete subtrees from left to right, one for each one bit of n; with it alone the
tree grows. Every proof between any two sizes is folded from at most two nodes a level.

Example: leaf 5 (binary 101) completes (0, 5) and (1, 2); the frontier of 6 leaves is (2, 0), (1, 2).

Making and verifying are apart: proofs are made by splitting ranges (RFC 9162, 2.1.3.1 and 2.1.4.1) and
verified by walking bits (2.1.3.2 and 2.1.4.2), so that neither can hide a mistake of the other.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Final

from shops.domain.curable_error import CurableError

Node = tuple[int, int]
"""(level, index): the complete subtree over leaves index·2^level to (index + 1)·2^level - 1."""

ReadNodes = Callable[[Sequence[Node]], Mapping[Node, bytes]]
"""Reads stored nodes, all in one call."""

HASH_LENGTH: Final = 32
EMPTY_ROOT: Final = sha256(b"").digest()


class MerkleError(CurableError):
    """A question that the tree cannot answer: `code` for machines, `message` and `cure` for people.

    Codes: `outside_tree` (an index or size beyond the tree), `node_missing` (a stored node is not there).
    """


def leaf_hash(data: bytes) -> bytes:
    """H(00 || data), RFC 9162, 2.1.1."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """H(01 || left || right), RFC 9162, 2.1.1."""
    return sha256(b"\x01" + left + right).digest()


@dataclass(frozen=True, slots=True)
class Frontier:
    """The complete subtrees of a tree of `size` leaves, largest first: all that is needed to grow it.

    Raises `ValueError` where `hashes` are not one for each one bit of `size`.
    """

    size: int = 0
    hashes: tuple[bytes, ...] = ()

    def __post_init__(self) -> None:
        if self.size < 0 or len(self.hashes) != self.size.bit_count():
            raise ValueError(f"a frontier of {self.size} leaves has one hash for each one bit of its size")

    def root(self) -> bytes:
        """The root of the tree (RFC 9162, 2.1.1)."""
        return _fold(self.hashes)


@dataclass(frozen=True, slots=True)
class Growth:
    """What an append made: the new frontier and the nodes that became complete, to be stored."""

    frontier: Frontier
    nodes: tuple[tuple[Node, bytes], ...]


def append_leaves(frontier: Frontier, leaves: Iterable[bytes]) -> Growth:
    """Append leaf hashes, in order; the nodes come leaf by leaf, each leaf's from level 0 upwards."""
    size, hashes = frontier.size, list(frontier.hashes)
    nodes: list[tuple[Node, bytes]] = []
    for leaf in leaves:
        level, index, value = 0, size, leaf
        nodes.append(((0, index), value))
        while index & 1:
            value = node_hash(hashes.pop(), value)
            level, index = level + 1, index >> 1
            nodes.append(((level, index), value))
        hashes.append(value)
        size += 1
    return Growth(Frontier(size, tuple(hashes)), tuple(nodes))


def root_of(leaves: Iterable[bytes]) -> bytes:
    """The root over leaf hashes; `EMPTY_ROOT` over none."""
    return append_leaves(Frontier(), leaves).frontier.root()


def completed_nodes(index: int) -> tuple[Node, ...]:
    """The nodes that become complete with leaf `index`, from level 0 upwards."""
    return tuple((level, index >> level) for level in range((~index & (index + 1)).bit_length()))


def frontier_nodes(size: int) -> tuple[Node, ...]:
    """The nodes whose hashes are the frontier of a tree of `size` leaves, largest first."""
    return tuple(_nodes_over(0, size))


def read_frontier(size: int, read_nodes: ReadNodes) -> Frontier:
    """The frontier, and with it the root, of any size that the log has had. One read."""
    nodes = frontier_nodes(size)
    stored = _read(nodes, read_nodes)
    return Frontier(size, tuple(stored[node] for node in nodes))


def inclusion_proof(index: int, size: int, read_nodes: ReadNodes) -> tuple[bytes, ...]:
    """PATH(index, D[size]) of RFC 9162, 2.1.3.1: siblings from the leaf upwards, without the leaf. One read.

    Raises `MerkleError`.
    """
    if not 0 <= index < size:
        raise _outside(f"no leaf {index} in a tree of {size}")
    return _fold_ranges(tuple(_inclusion_ranges(index, size)), read_nodes)


def consistency_proof(first: int, second: int, read_nodes: ReadNodes) -> tuple[bytes, ...]:
    """PROOF(first, D[second]) of RFC 9162, 2.1.4.1; empty where `first` is 0 or `second`. One read.

    Raises `MerkleError`.
    """
    if not 0 <= first <= second:
        raise _outside(f"no tree of {first} leaves within one of {second}")
    if first in (0, second):
        return ()
    return _fold_ranges(tuple(_consistency_ranges(first, second)), read_nodes)


def verify_inclusion(leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes) -> bool:
    """Whether `proof` shows the leaf hash at `index` in the tree of `size` (RFC 9162, 2.1.3.2)."""
    if not 0 <= index < size or not _are_hashes(leaf, root, *proof):
        return False
    place, last, value = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False
        if place & 1 or place == last:
            value = node_hash(sibling, value)
            place, last = _climb_while_even(place, last)
        else:
            value = node_hash(value, sibling)
        place, last = place >> 1, last >> 1
    return last == 0 and value == root


def verify_consistency(first: int, second: int, first_root: bytes, second_root: bytes, proof: Sequence[bytes]) -> bool:
    """Whether `proof` shows that the second tree only appends to the first (RFC 9162, 2.1.4.2).

    Beyond the standard's 0 < first < second: every tree continues the empty one, and a size continues
    itself with the same root; both with an empty proof.
    """
    if not 0 <= first <= second or not _are_hashes(first_root, second_root, *proof):
        return False
    if first == second:
        return not proof and first_root == second_root
    if first == 0:
        return not proof and first_root == EMPTY_ROOT
    path = [first_root, *proof] if first & (first - 1) == 0 else list(proof)
    return bool(path) and _walk_consistency(first - 1, second - 1, path) == (first_root, second_root)


def _walk_consistency(place: int, last: int, path: Sequence[bytes]) -> tuple[bytes, bytes] | None:
    """Both roots as the path gives them; None where the path is too long or too short."""
    while place & 1:
        place, last = place >> 1, last >> 1
    old = new = path[0]
    for sibling in path[1:]:
        if last == 0:
            return None
        if place & 1 or place == last:
            old, new = node_hash(sibling, old), node_hash(sibling, new)
            place, last = _climb_while_even(place, last)
        else:
            new = node_hash(new, sibling)
        place, last = place >> 1, last >> 1
    return (old, new) if last == 0 else None


def _climb_while_even(place: int, last: int) -> tuple[int, int]:
    """Shift both until the lowest bit of `place` is set or `place` is 0."""
    while place and not place & 1:
        place, last = place >> 1, last >> 1
    return place, last


def _are_hashes(*values: bytes) -> bool:
    return all(len(value) == HASH_LENGTH for value in values)


def _inclusion_ranges(index: int, size: int) -> Iterator[tuple[int, int]]:
    """The leaf ranges (start, end) whose roots are the inclusion proof, from the leaf upwards."""
    start, end, ranges = 0, size, []
    while end - start > 1:
        middle = start + _split(end - start)
        if index < middle:
            ranges.append((middle, end))
            end = middle
        else:
            ranges.append((start, middle))
            start = middle
    return reversed(ranges)


def _consistency_ranges(first: int, second: int) -> Iterator[tuple[int, int]]:
    """The leaf ranges (start, end) whose roots are the consistency proof, in its order."""
    start, end, ranges = 0, second, []
    while first != end:
        middle = start + _split(end - start)
        if first <= middle:
            ranges.append((middle, end))
            end = middle
        else:
            ranges.append((start, middle))
            start = middle
    if start:
        ranges.append((start, end))
    return reversed(ranges)


def _split(size: int) -> int:
    """The largest power of two below `size`, which is at least 2."""
    return 1 << ((size - 1).bit_length() - 1)


def _nodes_over(start: int, end: int) -> Iterator[Node]:
    """The complete subtrees, largest first, over leaves start to end - 1 of a split tree."""
    while start < end:
        level = (end - start).bit_length() - 1
        yield level, start >> level
        start += 1 << level


def _fold_ranges(ranges: Sequence[tuple[int, int]], read_nodes: ReadNodes) -> tuple[bytes, ...]:
    """The root over each range, all their nodes read in one call."""
    parts = [tuple(_nodes_over(start, end)) for start, end in ranges]
    stored = _read([node for part in parts for node in part], read_nodes)
    return tuple(_fold([stored[node] for node in part]) for part in parts)


def _fold(hashes: Sequence[bytes]) -> bytes:
    """The root over complete subtrees, largest first."""
    if not hashes:
        return EMPTY_ROOT
    value = hashes[-1]
    for left in reversed(hashes[:-1]):
        value = node_hash(left, value)
    return value


def _read(nodes: Sequence[Node], read_nodes: ReadNodes) -> Mapping[Node, bytes]:
    stored = read_nodes(nodes) if nodes else {}
    missing = [node for node in nodes if node not in stored]
    if missing:
        raise MerkleError(
            "node_missing",
            f"The log does not hold node {missing[0][1]} of level {missing[0][0]}.",
            "Ask for a size that the log has reached; if it has, rebuild the nodes from the leaves.",
        )
    return stored


def _outside(why: str) -> MerkleError:
    return MerkleError("outside_tree", f"There is {why}.", "Ask within the size of a published checkpoint.")
