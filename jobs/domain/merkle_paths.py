"""Verifies many inclusion proofs under one root at once: neighbours in the log share most of their way up."""

from collections.abc import Sequence

from jobs.domain.merkle import HASH_LENGTH, Node, node_hash


class SharedPaths:
    """Verifies many inclusion proofs under one root, and hashes each node on their ways up once.

    A proof that comes to a node which another one has led to the root has to go on as that one did: with the same value
    and the same siblings. Two ways that differ cannot both give the root, unless SHA-256 is broken.
    """

    __slots__ = ("_root", "_size", "_ways")

    def __init__(self, size: int, root: bytes) -> None:
        self._size, self._root = size, root
        self._ways: dict[Node, tuple[bytes, Sequence[str]]] = {}

    def include(self, leaf: bytes, index: int, proof: Sequence[str]) -> bool:
        """What `verify_inclusion` says; `proof` in lower-case hex. Raises `ValueError` where it is no hex."""
        if not 0 <= index < self._size or len(leaf) != HASH_LENGTH:
            return False
        level, place, last, value = 0, index, self._size - 1, leaf
        way: list[tuple[Node, bytes, int]] = []
        for at, sibling in enumerate(proof):
            known = self._ways.get((level, place))
            if known is not None:
                return known == (value, proof[at:]) and self._keep(way, proof)
            way.append(((level, place), value, at))
            other = bytes.fromhex(sibling)
            if last == 0 or len(other) != HASH_LENGTH:
                return False
            if place & 1 or place == last:
                value = node_hash(other, value)
                while place and not place & 1:
                    level, place, last = level + 1, place >> 1, last >> 1
            else:
                value = node_hash(value, other)
            level, place, last = level + 1, place >> 1, last >> 1
        return last == 0 and value == self._root and self._keep(way, proof)

    def _keep(self, way: Sequence[tuple[Node, bytes, int]], proof: Sequence[str]) -> bool:
        self._ways.update((node, (value, proof[at:])) for node, value, at in way)
        return True
