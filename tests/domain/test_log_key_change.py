"""A log's key hands over to the next, and whoever trusts the first can follow."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.domain.checkpoint import CheckpointError, read_checkpoint_text
from jobs.domain.log_key_change import (
    KeyChange,
    LogKeyError,
    follow_key_changes,
    log_note_key,
    log_origin,
    read_key_change,
    sign_key_change,
)
from jobs.domain.signed_note import read_note

ORIGIN = log_origin("brindlewick")
KEYS = [Ed25519PrivateKey.from_private_bytes(bytes([number]) * 32) for number in range(1, 5)]
NOTED = [log_note_key(ORIGIN, key) for key in KEYS]
AT = datetime(2026, 3, 2, 14, 5, tzinfo=UTC)


def change(number: int, size: int = 412) -> KeyChange:
    """To the key of that number (from 2 on) from the one before."""
    return KeyChange(ORIGIN, number, NOTED[number - 2], NOTED[number - 1], size, AT)


def signed(number: int) -> bytes:
    return sign_key_change(change(number), old=KEYS[number - 2], new=KEYS[number - 1])


def test_a_hand_over_reads_back_as_it_was_signed() -> None:
    read = read_key_change(signed(2))
    assert (read.change, read.by_old) == (change(2), True)


def test_the_chain_leads_from_the_first_key_to_the_last() -> None:
    followed = follow_key_changes(NOTED[0], [signed(2), signed(3), signed(4)])
    assert [read.change.new for read in followed] == NOTED[1:]


def test_a_lost_key_leaves_the_new_one_unvouched_for() -> None:
    read = read_key_change(sign_key_change(change(2), old=None, new=KEYS[1]))
    assert read.by_old is False


@pytest.mark.parametrize("order", [[3, 2], [2, 2], [3], [2, 4]])
def test_hand_overs_out_of_order_are_refused(order: list[int]) -> None:
    with pytest.raises(LogKeyError, match="does not begin at the key before it"):
        follow_key_changes(NOTED[0], [signed(number) for number in order])


def test_a_hand_over_that_the_new_key_did_not_sign_is_refused() -> None:
    note = sign_key_change(change(2), old=KEYS[0], new=KEYS[2])
    with pytest.raises(LogKeyError, match="is not signed by that key"):
        read_key_change(note)


@pytest.mark.parametrize(
    ("old", "new"), [("rebuild-record key change v1", "rebuild-record key change v2"), ("\n412\n", "\n0412\n"), ("\n2\n", "\ntwo\n")]
)  # fmt: skip
def test_a_text_that_is_no_hand_over_is_refused(old: str, new: str) -> None:
    raw = signed(2).decode()
    assert old in raw
    with pytest.raises(LogKeyError, match="no hand-over"):
        read_key_change(raw.replace(old, new).encode())


def test_a_changed_digit_breaks_the_signature() -> None:
    with pytest.raises(LogKeyError, match="is not signed"):
        read_key_change(signed(2).replace(b"\n412\n", b"\n413\n"))


def test_a_hand_over_of_another_log_s_keys_is_refused() -> None:
    other = replace(change(2), origin=log_origin("elsewhere"))
    with pytest.raises(LogKeyError, match="no hand-over"):
        read_key_change(sign_key_change(other, old=KEYS[0], new=KEYS[1]))


def test_a_hand_over_can_never_be_read_as_a_checkpoint() -> None:
    with pytest.raises(CheckpointError):
        read_checkpoint_text(read_note(signed(2)).text)
