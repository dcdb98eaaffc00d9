"""The log's tree: published RFC 6962/9162 vectors, pymerkle on random trees, every pair of sizes up to 70, tampering."""

from functools import cache
from hashlib import sha256

import pymerkle
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.merkle import (
    EMPTY_ROOT,
    Frontier,
    MerkleError,
    append_leaves,
    completed_nodes,
    consistency_proof,
    frontier_nodes,
    inclusion_proof,
    leaf_hash,
    node_hash,
    read_frontier,
    root_of,
    verify_consistency,
    verify_inclusion,
)

# The eight leaves and roots of sizes 0 to 8 that the public Certificate Transparency test data use.
LEAVES = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
LEAF_1 = "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"
LEAF_4 = "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"
NODE_23 = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
NODE_45 = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
NODE_67 = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
NODE_47 = "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"
INCLUSION = [
    (0, 8, [LEAF_1, NODE_23, NODE_47]),
    (5, 8, [LEAF_4, NODE_67, ROOTS[4]]),
    (2, 3, [ROOTS[2]]),
    (1, 5, [ROOTS[1], NODE_23, LEAF_4]),
]
CONSISTENCY = [
    (1, 8, [LEAF_1, NODE_23, NODE_47]),
    (6, 8, [NODE_45, NODE_67, ROOTS[4]]),
    (2, 5, [NODE_23, LEAF_4]),
]
SIZES = st.integers(1, 70)


class Log:
    """A log of numbered leaves with its stored nodes."""

    def __init__(self, size, data=lambda number: b"leaf %d" % number):
        self.leaves = [leaf_hash(data(number)) for number in range(size)]
        growth = append_leaves(Frontier(), self.leaves)
        self.frontier, self.nodes = growth.frontier, dict(growth.nodes)

    def read(self, nodes):
        return {node: self.nodes[node] for node in nodes if node in self.nodes}

    @cache  # noqa: B019 (one small log in a test)
    def root(self, size):
        return recursive_root(tuple(self.leaves[:size]))


@cache
def recursive_root(leaves):
    """MTH as RFC 9162, 2.1.1 writes it, with the leaves already hashed."""
    if not leaves:
        return sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    k = 1
    while k * 2 < len(leaves):
        k *= 2
    return node_hash(recursive_root(leaves[:k]), recursive_root(leaves[k:]))


LOG = Log(70)


def published(size=8):
    return Log(size, lambda number: bytes.fromhex(LEAVES[number]))


@pytest.mark.parametrize("size", range(9))
def test_the_published_roots_come_out(size):
    assert root_of(leaf_hash(bytes.fromhex(leaf)) for leaf in LEAVES[:size]).hex() == ROOTS[size]


@pytest.mark.parametrize(("index", "size", "path"), INCLUSION)
def test_the_published_inclusion_proofs_come_out_and_verify(index, size, path):
    log = published()
    proof = inclusion_proof(index, size, log.read)
    assert [node.hex() for node in proof] == path
    assert verify_inclusion(log.leaves[index], index, size, proof, bytes.fromhex(ROOTS[size]))


@pytest.mark.parametrize(("first", "second", "path"), CONSISTENCY)
def test_the_published_consistency_proofs_come_out_and_verify(first, second, path):
    proof = consistency_proof(first, second, published().read)
    assert [node.hex() for node in proof] == path
    assert verify_consistency(first, second, bytes.fromhex(ROOTS[first]), bytes.fromhex(ROOTS[second]), proof)


def test_every_leaf_of_every_size_is_proved():
    for size in range(1, 71):
        for index in range(size):
            proof = inclusion_proof(index, size, LOG.read)
            assert verify_inclusion(LOG.leaves[index], index, size, proof, LOG.root(size)), (index, size)


def test_every_size_is_proved_to_continue_every_smaller_one():
    for second in range(71):
        for first in range(second + 1):
            proof = consistency_proof(first, second, LOG.read)
            assert verify_consistency(first, second, LOG.root(first), LOG.root(second), proof), (
                first,
                second,
            )


def test_a_proof_of_one_place_or_size_never_proves_another():
    for size in range(1, 20):
        for index in range(size):
            proof = inclusion_proof(index, size, LOG.read)
            accepted = {
                (other, other_size)
                for other_size in range(20)
                for other in range(20)
                if verify_inclusion(LOG.leaves[index], other, other_size, proof, LOG.root(size))
                and verify_inclusion(LOG.leaves[index], other, other_size, proof, LOG.root(other_size))
            }
            assert accepted == {(index, size)}


def tampered(proof, choice, place, bit):
    """The proof with one bit turned, one hash dropped, doubled, added, or two exchanged."""
    proof = list(proof)
    at = place % max(len(proof), 1)
    if choice == 0 and proof:
        value = bytearray(proof[at])
        value[bit % 32] ^= 1 << (bit % 8)
        proof[at] = bytes(value)
    elif choice == 1 and proof:
        del proof[at]
    elif choice == 2 and proof:
        proof.insert(at, proof[at])
    elif choice == 3 and len(proof) > 1:
        proof[at], proof[at - 1] = proof[at - 1], proof[at]
    else:
        proof.append(bytes(32))
    return tuple(proof)


@given(SIZES, st.data(), st.integers(0, 4), st.integers(0, 99), st.integers(0, 255))
def test_a_tampered_inclusion_proof_is_refused(size, data, choice, place, bit):
    index = data.draw(st.integers(0, size - 1))
    proof = inclusion_proof(index, size, LOG.read)
    broken = tampered(proof, choice, place, bit)
    assert broken != proof
    assert not verify_inclusion(LOG.leaves[index], index, size, broken, LOG.root(size))


@given(SIZES, st.data(), st.integers(0, 4), st.integers(0, 99), st.integers(0, 255))
def test_a_tampered_consistency_proof_is_refused(second, data, choice, place, bit):
    first = data.draw(st.integers(0, second))
    proof = consistency_proof(first, second, LOG.read)
    broken = tampered(proof, choice, place, bit)
    assert broken != proof
    assert not verify_consistency(first, second, LOG.root(first), LOG.root(second), broken)


@given(SIZES, st.data())
def test_a_log_that_changed_one_old_leaf_never_continues_the_old_one(second, data):
    first = data.draw(st.integers(1, second))
    changed = data.draw(st.integers(0, first - 1))
    other = Log(second, lambda number: b"forged" if number == changed else b"leaf %d" % number)
    proof = consistency_proof(first, second, other.read)
    assert not verify_consistency(first, second, LOG.root(first), other.root(second), proof)
    assert not verify_inclusion(
        LOG.leaves[changed], changed, second, inclusion_proof(changed, second, other.read), other.root(second)
    )


def test_a_proof_with_a_hash_of_another_length_is_refused():
    proof = inclusion_proof(3, 8, LOG.read)
    assert not verify_inclusion(LOG.leaves[3], 3, 8, (proof[0] + b"\0", *proof[1:]), LOG.root(8))
    assert not verify_inclusion(LOG.leaves[3][:31], 3, 8, proof, LOG.root(8))
    assert not verify_consistency(3, 8, LOG.root(3), LOG.root(8)[:31], consistency_proof(3, 8, LOG.read))


@pytest.mark.parametrize(("index", "size"), [(0, 0), (1, 1), (-1, 5), (5, 5), (2**70, 8)])
def test_a_leaf_outside_the_tree_is_neither_proved_nor_verified(index, size):
    with pytest.raises(MerkleError, match="no leaf"):
        inclusion_proof(index, size, LOG.read)
    assert not verify_inclusion(LOG.leaves[0], index, size, (), LOG.leaves[0])


@pytest.mark.parametrize(("first", "second"), [(2, 1), (-1, 5), (-2, -1)])
def test_a_tree_outside_the_tree_is_neither_proved_nor_verified(first, second):
    with pytest.raises(MerkleError):
        consistency_proof(first, second, LOG.read)
    assert not verify_consistency(first, second, LOG.root(1), LOG.root(1), ())


def test_a_size_that_the_log_has_not_reached_says_which_node_is_missing():
    for ask in (lambda: inclusion_proof(3, 90, LOG.read), lambda: consistency_proof(3, 90, LOG.read)):
        with pytest.raises(MerkleError) as caught:
            ask()
        assert caught.value.code == "node_missing"


def test_the_empty_log_is_continued_by_every_log_and_only_with_an_empty_proof():
    assert consistency_proof(0, 5, LOG.read) == ()
    assert verify_consistency(0, 5, EMPTY_ROOT, LOG.root(5), ())
    assert not verify_consistency(0, 5, EMPTY_ROOT, LOG.root(5), (LOG.root(5),))
    assert not verify_consistency(0, 5, LOG.root(1), LOG.root(5), ())
    assert not verify_consistency(5, 5, LOG.root(5), LOG.root(4), ())


@given(st.lists(st.integers(0, 10), max_size=7))
def test_growing_in_batches_is_growing_at_once(batches):
    frontier, nodes, start = Frontier(), [], 0
    for count in batches:
        growth = append_leaves(frontier, LOG.leaves[start : start + count])
        frontier, nodes, start = growth.frontier, nodes + list(growth.nodes), start + count
    whole = append_leaves(Frontier(), LOG.leaves[:start])
    assert (frontier, tuple(nodes)) == (whole.frontier, whole.nodes)
    assert frontier.root() == LOG.root(start)
    assert read_frontier(start, LOG.read) == frontier


def test_each_leaf_completes_exactly_the_nodes_that_an_append_stores():
    growth = append_leaves(Frontier(), LOG.leaves)
    assert [node for node, _ in growth.nodes] == [node for i in range(70) for node in completed_nodes(i)]
    for (level, index), value in growth.nodes:
        assert value == recursive_root(tuple(LOG.leaves[index << level : (index + 1) << level]))


def test_the_worked_example_of_the_layout():
    assert completed_nodes(5) == ((0, 5), (1, 2))
    assert completed_nodes(7) == ((0, 7), (1, 3), (2, 1), (3, 0))
    assert frontier_nodes(6) == ((2, 0), (1, 2))
    assert frontier_nodes(0) == ()


@given(st.integers(1, 2**60), st.data())
def test_a_proof_needs_one_read_of_at_most_two_nodes_a_level(second, data):
    first = data.draw(st.integers(1, second))
    asked = []

    def read(nodes):
        asked.append(list(nodes))
        return dict.fromkeys(nodes, bytes(32))

    consistency_proof(first, second, read)
    inclusion_proof(first - 1, second, read)
    read_frontier(second, read)
    assert len(asked) <= 3
    for nodes in asked:
        assert len(set(nodes)) == len(nodes) <= 2 * second.bit_length()
        assert all((index + 1) << level <= second for level, index in nodes)


@pytest.mark.parametrize(("size", "hashes"), [(1, ()), (0, (bytes(32),)), (3, (bytes(32),)), (-1, ())])
def test_a_frontier_that_does_not_fit_its_size_is_refused(size, hashes):
    with pytest.raises(ValueError):
        Frontier(size, hashes)


@given(st.lists(st.binary(max_size=40), min_size=1, max_size=40), st.data())
def test_a_general_purpose_merkle_library_agrees_on_random_trees(entries, data):
    tree = pymerkle.InmemoryTree(algorithm="sha256")
    for entry in entries:
        tree.append_entry(entry)
    log = Log(len(entries), entries.__getitem__)
    size = data.draw(st.integers(1, len(entries)))
    index, first = data.draw(st.integers(0, size - 1)), data.draw(st.integers(1, size))
    assert log.frontier.root() == tree.get_root()

    theirs = tree.prove_inclusion(index + 1, size)  # it counts from 1 and puts the leaf hash first
    assert (log.leaves[index], *inclusion_proof(index, size, log.read)) == tuple(theirs.path)

    # Its consistency proofs have another shape than the standard's, so each side verifies its own on both roots.
    pymerkle.verify_consistency(log.root(first), log.root(size), tree.prove_consistency(first, size))
    ours = consistency_proof(first, size, log.read)
    assert verify_consistency(first, size, tree.get_root(first), tree.get_root(size), ours)
