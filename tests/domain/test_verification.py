"""Properties of the verifier: whatever is done to a bundle's bytes, it answers, and never calls it whole."""

from hashlib import sha256
from io import BytesIO
from zipfile import ZipFile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.domain.bundle import MANIFEST, bundle_members
from jobs.domain.merkle import Frontier, append_leaves, consistency_proof, root_of
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Kind
from jobs.domain.verification_log import ConsistencyProof, Trust
from tests.bundles.breaking import zipped
from tests.bundles.museum import GOOD, good, kept
from tests.bundles.world import note_of
from tests.bundles.world_rows import LOG_KEY, WITNESS_KEYS

TRUST = Trust((LOG_KEY,), WITNESS_KEYS, 2, kept("early"))
RAW = GOOD.read_bytes()
UNPROVED = {"register.json", "claims.json", "cautions.txt", "devices.json"}
"""What no signature and no leaf stands for: it is compared, or shown."""


def _members() -> dict[str, bytes]:
    return bundle_members(good())


@settings(max_examples=40)
@given(at=st.integers(0, len(RAW) - 1), to=st.integers(0, 255))
def test_no_byte_of_the_file_can_be_changed_unseen(at: int, to: int) -> None:
    changed = bytearray(RAW)
    changed[at] = to
    if bytes(changed) == RAW:
        return
    code = verify_bundle(bytes(changed), TRUST).exit_code
    assert code == 1 or (code == 0 and _same_members(bytes(changed)))


def _same_members(raw: bytes) -> bool:
    """Whether a reader of the zip sees the same: some bytes of a zip (times, versions) say nothing of its members."""
    with ZipFile(BytesIO(raw)) as new, ZipFile(BytesIO(RAW)) as old:
        return {name: new.read(name) for name in new.namelist()} == {name: old.read(name) for name in old.namelist()}


@settings(max_examples=40)
@given(data=st.data())
def test_no_byte_of_a_proved_member_can_be_changed_unseen_though_the_manifest_follows(data: st.DataObject) -> None:
    members = _members()
    name = data.draw(st.sampled_from(sorted(set(members) - UNPROVED - {MANIFEST})))
    at = data.draw(st.integers(0, len(members[name]) - 1))
    to = data.draw(st.integers(0, 255))
    changed = members[name][:at] + bytes([to]) + members[name][at + 1 :]
    if changed == members[name]:
        return
    report = verify_bundle(zipped({**members, name: changed}, good()), TRUST)
    assert report.exit_code != 0, (name, at, to)


@settings(max_examples=40)
@given(st.sampled_from(sorted(_members())), st.binary(max_size=60))
def test_a_member_of_any_content_gets_an_answer(name: str, content: bytes) -> None:
    report = verify_bundle(zipped({**_members(), name: content}, good()), TRUST)
    assert name == "cautions.txt" or report.exit_code != 0


@settings(max_examples=40)
@given(st.sampled_from(sorted(set(_members()) - {"cautions.txt"})))
def test_no_member_can_be_left_out_unseen(name: str) -> None:
    members = {other: raw for other, raw in _members().items() if other != name}
    assert verify_bundle(zipped(members, good()), TRUST).exit_code != 0


@pytest.mark.parametrize("raw", [b"", b"PK", b"PK\x05\x06" + bytes(18), RAW[:1000], RAW[1000:]])
def test_what_is_no_bundle_does_not_match(raw: bytes) -> None:
    report = verify_bundle(raw, TRUST)
    assert report.exit_code == 1
    assert report.remarks[0].code in {"no_zip", "manifest_missing"}


def test_a_checkpoint_newer_than_the_bundle_needs_a_proof_and_takes_it() -> None:
    """An auditor's checkpoint may be younger than the bundle: then it has to continue the bundle's."""
    source = good()
    size = len(source.places)
    leaves = _leaves_of_good()
    more = [*leaves, *(bytes([number]) * 32 for number in range(4))]
    nodes = dict(append_leaves(Frontier(), more).nodes)
    proof = consistency_proof(len(leaves), len(more), lambda _: nodes)
    newer = note_of(len(more), root_of(more))
    assert size <= len(leaves)
    unproved = verify_bundle(RAW, Trust((LOG_KEY,), checkpoint=newer))
    assert [(one.kind, one.code) for one in unproved.remarks] == [(Kind.UNCHECKED, "no_consistency_proof")]
    given_proof = ConsistencyProof(len(leaves), len(more), proof)
    assert verify_bundle(RAW, Trust((LOG_KEY,), checkpoint=newer, proofs=(given_proof,))).exit_code == 0
    split = note_of(len(more), root_of([*more[:-1], bytes(32)]))
    assert verify_bundle(RAW, Trust((LOG_KEY,), checkpoint=split, proofs=(given_proof,))).exit_code == 1


def _leaves_of_good() -> list[bytes]:
    """The leaves of the good log, fillers included, as `tests.bundles.world` lays them."""
    known = {place.index: place.leaf for place in good().places}
    leaves = list[bytes]()
    for number, index in enumerate(sorted(known)):
        gap = index - len(leaves)
        leaves += [sha256(f"filler {number} {more}".encode()).digest() for more in range(gap)]
        leaves.append(known[index])
    return leaves
