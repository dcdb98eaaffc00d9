"""Checkpoints: the worked example of C2SP tlog-checkpoint, strict lines, k of n witnesses, key rotation."""

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.checkpoint import (
    Checkpoint,
    CheckpointError,
    add_signatures,
    open_checkpoint,
    read_checkpoint_text,
    sign_checkpoint,
    write_checkpoint_text,
)
from jobs.domain.merkle import EMPTY_ROOT, leaf_hash
from jobs.domain.signed_note import (
    NoteError,
    NoteSignature,
    SignatureType,
    cosign_text,
    note_key_of,
    read_note,
    sign_text,
)

# The worked example of C2SP tlog-checkpoint.
EXAMPLE = "example.com/behind-the-sofa\n20852163\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n"
ORIGIN = "log.example/north"
CHECKPOINT = Checkpoint(ORIGIN, 17, leaf_hash(b"x"))
KEY, NEW_KEY, *WITNESSES = (Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in range(5))
LOG_KEY = note_key_of(ORIGIN, SignatureType.ED25519, KEY)
WITNESS_KEYS = [note_key_of(f"witness.example/{n}", SignatureType.COSIGNATURE, key) for n, key in enumerate(WITNESSES)]
ROOT = EXAMPLE.split("\n")[2]


def cosigned(*which, timestamp=1_700_000_000):
    text = write_checkpoint_text(CHECKPOINT)
    lines = [cosign_text(text, name=WITNESS_KEYS[n].name, private_key=WITNESSES[n], timestamp=timestamp) for n in which]
    return add_signatures(sign_checkpoint(CHECKPOINT, KEY), lines)


def test_the_published_example_is_read_and_written_back_the_same():
    checkpoint = read_checkpoint_text(EXAMPLE)
    assert (checkpoint.origin, checkpoint.size, checkpoint.extensions) == (
        "example.com/behind-the-sofa",
        20852163,
        (),
    )
    assert checkpoint.root.hex().startswith("0ac5186a91863e8e")
    assert write_checkpoint_text(checkpoint) == EXAMPLE


def test_a_signed_checkpoint_opens_under_its_logs_key():
    opened = open_checkpoint(sign_checkpoint(CHECKPOINT, KEY), log_keys=(LOG_KEY,))
    assert (opened.checkpoint, opened.log.key, opened.witnesses) == (CHECKPOINT, LOG_KEY, ())


def test_an_empty_logs_checkpoint_has_the_empty_root():
    empty = Checkpoint(ORIGIN, 0, EMPTY_ROOT)
    assert read_checkpoint_text(write_checkpoint_text(empty)) == empty
    with pytest.raises(CheckpointError):
        write_checkpoint_text(Checkpoint(ORIGIN, 0, bytes(32)))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\n",
        f"a\n1\n{ROOT}",
        f"\n1\n{ROOT}\n",
        f"a\n\n{ROOT}\n",
        f"a\n1\n\n{ROOT}\n",
        "a\n1\n",
        f"a\n1\n{ROOT}\n\n",
        f"a\n1\n{ROOT}\nb\n\nc\n",
        f"a\n01\n{ROOT}\n",
        f"a\n+1\n{ROOT}\n",
        f"a\n-1\n{ROOT}\n",
        f"a\n 1\n{ROOT}\n",
        f"a\n1 \n{ROOT}\n",
        f"a\n1_0\n{ROOT}\n",
        f"a\n1.0\n{ROOT}\n",
        f"a\n0x1\n{ROOT}\n",
        f"a\n١\n{ROOT}\n",
        f"a\n{2**63}\n{ROOT}\n",
        f"a\n{'9' * 4000}\n{ROOT}\n",
        f"a\n0\n{ROOT}\n",
        f"a\n1\n{ROOT[:-1]}\n",
        f"a\n1\n{ROOT[:-2]}J=\n",
        f"a\n1\n{ROOT}=\n",
        f"a\n1\n {ROOT}\n",
        f"a\n1\n{ROOT[:40]}\n",
        f"a\n1\n{ROOT.replace('/', '_')}\n",
        f"a\n1\n{'é' * 44}\n",
        f"a\t\n1\n{ROOT}\n",
        f"a\r\n1\n{ROOT}\n",
    ],
)
def test_what_is_no_checkpoint_is_refused(text):
    with pytest.raises(CheckpointError) as caught:
        read_checkpoint_text(text)
    assert caught.value.code == "checkpoint_malformed"
    assert caught.value.cure


@pytest.mark.parametrize(
    "checkpoint",
    [
        Checkpoint("", 1, bytes(32)),
        Checkpoint("a\nb", 1, bytes(32)),
        Checkpoint("a", -1, bytes(32)),
        Checkpoint("a", 2**63, bytes(32)),
        Checkpoint("a", 1, bytes(31)),
        Checkpoint("a", 1, bytes(32), ("",)),
        Checkpoint("a", 1, bytes(32), ("b\nc",)),
    ],
)
def test_what_would_not_read_back_the_same_is_not_written(checkpoint):
    with pytest.raises(CheckpointError):
        write_checkpoint_text(checkpoint)


LINE = st.text(st.characters(min_codepoint=32, exclude_categories=["Cs"]), min_size=1, max_size=20)


@given(LINE, st.integers(1, 2**63 - 1), st.binary(min_size=32, max_size=32), st.lists(LINE, max_size=3))
def test_every_checkpoint_reads_back_as_it_was_written(origin, size, root, extensions):
    checkpoint = Checkpoint(origin, size, root, tuple(extensions))
    assert read_checkpoint_text(write_checkpoint_text(checkpoint)) == checkpoint


def test_a_checkpoint_that_only_a_witness_signed_is_refused():
    raw = cosigned(0)
    note = read_note(raw)
    without_log = raw.decode().replace(note.signatures[0].line(), "").encode()
    with pytest.raises(CheckpointError) as caught:
        open_checkpoint(without_log, log_keys=(LOG_KEY,), witness_keys=WITNESS_KEYS)
    assert caught.value.code == "checkpoint_unsigned"


def test_a_checkpoint_of_another_log_signed_by_this_logs_key_is_refused():
    text = write_checkpoint_text(Checkpoint("log.example/south", 17, leaf_hash(b"x")))
    line = sign_text(text, name=ORIGIN, private_key=KEY)
    raw = (text + "\n" + line.line()).encode()
    with pytest.raises(CheckpointError) as caught:
        open_checkpoint(raw, log_keys=(LOG_KEY,))
    assert caught.value.code == "checkpoint_other_log"


def test_a_changed_size_or_root_is_refused():
    signature = sign_checkpoint(CHECKPOINT, KEY).split(b"\n\n")[1]
    for changed in (Checkpoint(ORIGIN, 16, CHECKPOINT.root), Checkpoint(ORIGIN, 17, leaf_hash(b"y"))):
        with pytest.raises(NoteError) as caught:
            open_checkpoint(write_checkpoint_text(changed).encode() + b"\n" + signature, log_keys=(LOG_KEY,))
        assert caught.value.code == "note_signature_wrong"


def test_another_logs_key_opens_nothing():
    with pytest.raises(NoteError) as caught:
        open_checkpoint(sign_checkpoint(CHECKPOINT, NEW_KEY), log_keys=(LOG_KEY,))
    assert caught.value.code == "note_unsigned"


@pytest.mark.parametrize(
    ("signed_by", "wanted", "enough"),
    [((), 0, True), ((), 1, False), ((0, 2), 2, True), ((1,), 2, False), ((0, 1, 2), 3, True)],
)
def test_the_auditor_takes_k_of_n_witnesses(signed_by, wanted, enough):
    raw = cosigned(*signed_by)
    if not enough:
        with pytest.raises(CheckpointError) as caught:
            open_checkpoint(raw, log_keys=(LOG_KEY,), witness_keys=WITNESS_KEYS, witnesses_wanted=wanted)
        assert caught.value.code == "checkpoint_witnesses_missing"
        return
    opened = open_checkpoint(raw, log_keys=(LOG_KEY,), witness_keys=WITNESS_KEYS, witnesses_wanted=wanted)
    assert [v.key for v in opened.witnesses] == [WITNESS_KEYS[n] for n in signed_by]
    assert all(v.timestamp == 1_700_000_000 for v in opened.witnesses)


def test_one_witness_under_two_names_counts_once():
    again = note_key_of("witness.example/again", SignatureType.COSIGNATURE, WITNESSES[0])
    line = cosign_text(
        write_checkpoint_text(CHECKPOINT), name=again.name, private_key=WITNESSES[0], timestamp=1_700_000_000
    )
    raw = add_signatures(cosigned(0), [line])
    with pytest.raises(CheckpointError) as caught:
        open_checkpoint(raw, log_keys=(LOG_KEY,), witness_keys=[*WITNESS_KEYS, again], witnesses_wanted=2)
    assert caught.value.code == "checkpoint_witnesses_missing"


def test_the_log_is_not_its_own_witness():
    own = note_key_of("witness.example/own", SignatureType.COSIGNATURE, KEY)
    text = write_checkpoint_text(CHECKPOINT)
    line = cosign_text(text, name=own.name, private_key=KEY, timestamp=1)
    raw = add_signatures(sign_checkpoint(CHECKPOINT, KEY), [line])
    with pytest.raises(CheckpointError):
        open_checkpoint(raw, log_keys=(LOG_KEY,), witness_keys=[own], witnesses_wanted=1)


def test_a_forged_cosignature_of_a_known_witness_condemns_the_checkpoint():
    forged = NoteSignature(WITNESS_KEYS[0].name, WITNESS_KEYS[0].key_id, bytes(72))
    raw = add_signatures(sign_checkpoint(CHECKPOINT, KEY), [forged])
    assert open_checkpoint(raw, log_keys=(LOG_KEY,)).checkpoint == CHECKPOINT  # unknown to who holds no such key
    with pytest.raises(NoteError):
        open_checkpoint(raw, log_keys=(LOG_KEY,), witness_keys=WITNESS_KEYS)


def test_a_log_that_changes_its_key_signs_with_both_for_a_while():
    text = write_checkpoint_text(CHECKPOINT)
    new = note_key_of(ORIGIN, SignatureType.ED25519, NEW_KEY)
    raw = add_signatures(sign_checkpoint(CHECKPOINT, KEY), [sign_text(text, name=ORIGIN, private_key=NEW_KEY)])
    for keys in ((LOG_KEY,), (new,), (LOG_KEY, new)):
        assert open_checkpoint(raw, log_keys=keys).checkpoint == CHECKPOINT


def test_a_line_added_twice_stands_once():
    assert add_signatures(cosigned(0, 1), read_note(cosigned(1, 0)).signatures) == cosigned(0, 1)
