"""A witness cosigns a log that keeps its word, and nothing else: cut off, rewritten and split logs are an alarm."""

from collections.abc import Sequence

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.checkpoint import Checkpoint, CheckpointError, add_signatures, open_checkpoint, sign_checkpoint
from jobs.domain.merkle import Frontier, append_leaves, consistency_proof, leaf_hash, root_of
from jobs.domain.signed_note import NoteError, SignatureType, note_key_of, read_note
from jobs.domain.witnessing import Cosigning, WitnessAlarm, cosign

ORIGIN, NAME = "rebuild-record/brindlewick", "witness.ashlock.example"
LOG, OTHER, MINE = (Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in range(3))
LOG_KEY = note_key_of(ORIGIN, SignatureType.ED25519, LOG)
MY_KEY = note_key_of(NAME, SignatureType.COSIGNATURE, MINE)


class Log:
    """A log in memory; `word` tells two histories apart."""

    def __init__(self, word: str = "", same: int = 0) -> None:
        self.leaves = [leaf_hash(f"{word if at >= same else ''} {at}".encode()) for at in range(40)]

    def note(self, size: int, key: Ed25519PrivateKey = LOG) -> bytes:
        return sign_checkpoint(Checkpoint(ORIGIN, size, root_of(self.leaves[:size])), key)

    def proof(self, first: int, second: int) -> Sequence[bytes]:
        nodes = dict(append_leaves(Frontier(), self.leaves).nodes)
        return consistency_proof(first, second, lambda _wanted: nodes)


def look(log: Log, offered: bytes, kept: bytes | None) -> Cosigning:
    return cosign(
        offered,
        kept=kept,
        log_keys=[LOG_KEY],
        read_proof=log.proof,
        name=NAME,
        private_key=MINE,
        timestamp=1_772_460_000,
    )


@given(st.integers(1, 40), st.integers(1, 40))
def test_a_log_that_grows_is_cosigned_and_the_cosignature_counts(one: int, other: int) -> None:
    log, (first, second) = Log(), sorted((one, other))
    made = look(log, log.note(second), look(log, log.note(first), None).note)
    (line,) = read_note(f"{read_note(made.note).text}\n{made.line}\n".encode()).signatures
    opened = open_checkpoint(
        add_signatures(made.note, [line]), log_keys=[LOG_KEY], witness_keys=[MY_KEY], witnesses_wanted=1
    )
    assert opened.checkpoint.size == made.checkpoint.size == second
    assert opened.witnesses[0].timestamp == 1_772_460_000


def test_a_log_that_shrank_is_an_alarm() -> None:
    with pytest.raises(WitnessAlarm) as alarm:
        look(Log(), Log().note(19), Log().note(20))
    assert (alarm.value.code, "20 leaves" in alarm.value.message) == ("log_shrank", True)


def test_two_roots_of_one_size_are_a_split_view() -> None:
    with pytest.raises(WitnessAlarm) as alarm:
        look(Log("other"), Log("other").note(20), Log().note(20))
    assert alarm.value.code == "split_view"


@pytest.mark.parametrize("same", range(20))
def test_a_rewritten_log_cannot_continue_what_was_kept(same: int) -> None:
    rewritten = Log("other", same)
    with pytest.raises(WitnessAlarm) as alarm:
        look(rewritten, rewritten.note(30), Log().note(20))
    assert alarm.value.code == "not_continued"


def test_what_differs_only_behind_the_kept_checkpoint_is_no_alarm() -> None:
    later = Log("other", same=20)
    assert look(later, later.note(30), Log().note(20)).checkpoint.size == 30


def test_a_checkpoint_that_the_logs_key_did_not_sign_is_not_cosigned() -> None:
    with pytest.raises((NoteError, CheckpointError)):
        look(Log(), Log().note(20, OTHER), None)
