"""Many inclusion proofs walked together say what each says alone, and no wrong one hides behind a right one."""

from hashlib import sha256

from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.merkle import Frontier, append_leaves, inclusion_proof, root_of, verify_inclusion
from jobs.domain.merkle_paths import SharedPaths


def _leaves(size: int) -> list[bytes]:
    return [sha256(f"leaf {index}".encode()).digest() for index in range(size)]


def _proof(leaves: list[bytes], index: int) -> list[str]:
    nodes = dict(append_leaves(Frontier(), leaves).nodes)
    return [value.hex() for value in inclusion_proof(index, len(leaves), lambda _: nodes)]


@given(size=st.integers(1, 90), data=st.data())
def test_every_true_proof_holds_in_whatever_order(size, data):
    leaves = _leaves(size)
    paths = SharedPaths(size, root_of(leaves))
    for index in data.draw(st.permutations(range(size))):
        assert paths.include(leaves[index], index, _proof(leaves, index))


@given(size=st.integers(2, 70), data=st.data())
def test_after_true_proofs_a_wrong_one_is_still_wrong(size, data):
    leaves = _leaves(size)
    paths = SharedPaths(size, root_of(leaves))
    for index in data.draw(st.lists(st.integers(0, size - 1), max_size=9)):
        assert paths.include(leaves[index], index, _proof(leaves, index))
    index = data.draw(st.integers(0, size - 1))
    proof, leaf, at = _proof(leaves, index), leaves[index], index
    match data.draw(st.sampled_from(["sibling", "leaf", "shorter", "longer", "place"])):
        case "sibling":
            which = data.draw(st.integers(0, len(proof) - 1))
            proof[which] = sha256(proof[which].encode()).hexdigest()
        case "leaf":
            leaf = sha256(leaf).digest()
        case "shorter":
            proof = proof[:-1]
        case "longer":
            proof = [*proof, proof[-1]]
        case "place":
            at = data.draw(st.integers(0, size - 1).filter(lambda other: other != index))
    alone = verify_inclusion(leaf, at, size, [bytes.fromhex(one) for one in proof], root_of(leaves))
    assert paths.include(leaf, at, proof) is alone is False
