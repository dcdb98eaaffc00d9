"""Checkpoints (C2SP tlog-checkpoint): a log's size and root at a moment, signed, comparable for ever.

Rules, in plain sentences:

- The text has the log's origin, its size in decimal, its root in base64, each on its line; then any
  extension lines, none empty. Two of them are ours; who does not know them passes over them.
- `signed 2026-03-02T20:05:00.120000Z` is the time by the clock of the log, under its signature: it can be false, but
  cannot be told otherwise later.
- `previous 811 <hex>` names the checkpoint signed before it: its size, and the SHA-256 of its text. So one that is
  taken away is missed by the next.
- A checkpoint counts only with the signature of its log's key, whose name is the origin.
- A witness that cosigned says: of all I have seen of this log by that second, this is the largest, and it
  continues all the others. The auditor holds n witness keys and asks for k of them; each counts once.
"""

import re
from base64 import b64decode, b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Final

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.domain.merkle import EMPTY_ROOT, HASH_LENGTH
from jobs.domain.receipt import utc_text
from jobs.domain.signed_note import (
    NoteKey,
    NoteSignature,
    SignedNote,
    VerifiedSignature,
    open_note,
    read_note,
    sign_text,
    write_note,
)
from shops.domain.curable_error import CurableError

SIZE_LIMIT: Final = 1 << 63
_SIZE: Final = re.compile(r"0|[1-9][0-9]{0,18}")
_SIGNED: Final = "signed "
_PREVIOUS: Final = re.compile(r"previous (0|[1-9][0-9]{0,18}) ([0-9a-f]{64})")
_TIME: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", re.ASCII)
_CONTROL: Final = re.compile(r"[\x00-\x1f]")


class CheckpointError(CurableError):
    """A checkpoint that is not accepted: `code` for machines, `message` and `cure` for people.

    Codes: `checkpoint_malformed`, `checkpoint_other_log`, `checkpoint_unsigned`,
    `checkpoint_witnesses_missing`.
    """


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A log's `origin`, number of leaves, Merkle root (32 bytes) and extension lines."""

    origin: str
    size: int
    root: bytes
    extensions: tuple[str, ...] = ()

    @property
    def signed_at(self) -> datetime | None:
        """When the log says that it signed; None where it does not say so in the form that we write."""
        told = [line.removeprefix(_SIGNED) for line in self.extensions if line.startswith(_SIGNED)]
        if len(told) != 1 or _TIME.fullmatch(told[0]) is None:
            return None
        try:
            return datetime.fromisoformat(told[0])
        except ValueError:
            return None

    @property
    def previous(self) -> tuple[int, str] | None:
        """Size and digest of the checkpoint signed before it; None where it does not name one as we write it."""
        told = [found for line in self.extensions if (found := _PREVIOUS.fullmatch(line))]
        return (int(told[0][1]), told[0][2]) if len(told) == 1 else None


@dataclass(frozen=True, slots=True)
class OpenedCheckpoint:
    """A checkpoint that its log signed, and the known witnesses that cosigned it."""

    checkpoint: Checkpoint
    log: VerifiedSignature
    witnesses: tuple[VerifiedSignature, ...]


def read_checkpoint_text(text: str) -> Checkpoint:
    """The checkpoint in a note's text; raises `CheckpointError` (`checkpoint_malformed`)."""
    lines = text.split("\n")
    if len(lines) < 4 or lines.pop() or not all(lines) or _CONTROL.search("".join(lines)):  # noqa: PLR2004
        raise _malformed("it does not have three or more plain lines, none empty")
    origin, size, root, *extensions = lines
    if _SIZE.fullmatch(size) is None or int(size) >= SIZE_LIMIT:
        raise _malformed("its second line is no size")
    checkpoint = Checkpoint(origin, int(size), _root(root), tuple(extensions))
    if checkpoint.size == 0 and checkpoint.root != EMPTY_ROOT:
        raise _malformed("an empty log has another root")
    return checkpoint


def write_checkpoint_text(checkpoint: Checkpoint) -> str:
    """The text that is signed; raises `CheckpointError` where it would not read back the same."""
    root = b64encode(checkpoint.root).decode()
    lines = (checkpoint.origin, str(checkpoint.size), root, *checkpoint.extensions)
    text = "".join(f"{line}\n" for line in lines)
    if read_checkpoint_text(text) != checkpoint:
        raise _malformed("its origin or an extension cannot stand on one line")
    return text


def signed_line(at: datetime) -> str:
    """The extension line that tells when a checkpoint is signed."""
    return _SIGNED + utc_text(at)


def text_digest(raw: bytes) -> str:
    """The SHA-256, in hex, of a note's text: the same whoever has signed it since. Raises `NoteError`."""
    return sha256(read_note(raw).text.encode()).hexdigest()


def previous_line(size: int, raw: bytes) -> str:
    """The extension line that names the checkpoint before, of `size` leaves."""
    return f"previous {size} {text_digest(raw)}"


def sign_checkpoint(checkpoint: Checkpoint, private_key: Ed25519PrivateKey) -> bytes:
    """The checkpoint as a note signed by its log, under its origin as the key's name."""
    text = write_checkpoint_text(checkpoint)
    signature = sign_text(text, name=checkpoint.origin, private_key=private_key)
    return write_note(SignedNote(text, (signature,)))


def add_signatures(raw: bytes, signatures: Sequence[NoteSignature]) -> bytes:
    """The same note with more signature lines (of witnesses, of an old key), each line once."""
    note = read_note(raw)
    lines = dict.fromkeys((*note.signatures, *signatures))
    return write_note(SignedNote(note.text, tuple(lines)))


def open_checkpoint(
    raw: bytes,
    *,
    log_keys: Sequence[NoteKey],
    witness_keys: Sequence[NoteKey] = (),
    witnesses_wanted: int = 0,
) -> OpenedCheckpoint:
    """Read a checkpoint and require its log's signature and `witnesses_wanted` different witnesses.

    `log_keys` are the log's present and former keys. Raises `NoteError` or `CheckpointError`.
    """
    check = open_note(raw, (*log_keys, *witness_keys))
    checkpoint = read_checkpoint_text(check.text)
    logs = [signature for signature in check.verified if signature.key in log_keys]
    if not logs:
        raise CheckpointError(
            "checkpoint_unsigned", "The log's own key did not sign the checkpoint.", "Fetch it from the log."
        )
    if logs[0].key.name != checkpoint.origin:
        raise CheckpointError(
            "checkpoint_other_log",
            f"The checkpoint is of the log {checkpoint.origin!r}, not of {logs[0].key.name!r}.",
            "Fetch the checkpoint of the log whose key you hold.",
        )
    witnesses = _different_witnesses(check.verified, log_keys)
    if len(witnesses) < witnesses_wanted:
        raise CheckpointError(
            "checkpoint_witnesses_missing",
            f"{len(witnesses)} of the known witnesses cosigned; {witnesses_wanted} are wanted.",
            "Fetch it again later, or ask the witnesses what they saw.",
        )
    return OpenedCheckpoint(checkpoint, logs[0], witnesses)


def _different_witnesses(
    verified: Sequence[VerifiedSignature], log_keys: Sequence[NoteKey]
) -> tuple[VerifiedSignature, ...]:
    """One signature for each public key that is none of the log's, whatever names or types it bears."""
    logs = {key.public_key for key in log_keys}
    found: dict[bytes, VerifiedSignature] = {}
    for signature in verified:
        if signature.key.public_key not in logs:
            found.setdefault(signature.key.public_key, signature)
    return tuple(found.values())


def _root(text: str) -> bytes:
    try:
        raw = b64decode(text, validate=True)
    except ValueError:
        raw = b""
    if len(raw) != HASH_LENGTH or b64encode(raw).decode() != text:
        raise _malformed(f"its third line is not base64 of {HASH_LENGTH} bytes")
    return raw


def _malformed(why: str) -> CheckpointError:
    return CheckpointError("checkpoint_malformed", f"This is no checkpoint: {why}.", "Fetch it again, unchanged.")
