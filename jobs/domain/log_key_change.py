"""How a log's key hands over to the next: a note that both sign, so that whoever trusts the first can follow.

Rules, in plain sentences:

- The text has seven lines: what it is, the log's origin, the number of the new key, the old key, the new key
  (both as C2SP verifier keys), the size of the log at that moment, and the time.
- The old and the new key sign it, each under the log's origin. The old says: trust the new. The new says: I
  am held by who asked for this.
- A lost key cannot sign. Then the new key stands alone, and whoever follows the chain is told so: the company
  has to vouch for the new key on another way.
- Its first line and its second can never be a checkpoint's, so neither note can be taken for the other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.domain.receipt import utc_text
from jobs.domain.signed_note import (
    NoteError,
    NoteKey,
    SignatureType,
    SignedNote,
    check_note,
    note_key_of,
    read_note,
    read_note_key,
    sign_text,
    write_note,
)
from shops.domain.curable_error import CurableError

HEADING: Final = "rebuild-record key change v1"
_LINES: Final = 7


class LogKeyError(CurableError):
    """A key or a hand-over that is not accepted: `code` for machines, `message` and `cure` for people.

    Codes: `key_change_malformed`, `key_change_unsigned`, `key_change_out_of_order`.
    """


@dataclass(frozen=True, slots=True)
class KeyChange:
    """A hand-over: `number` is the new key's (the first key is 1), `size` the log's when it was signed."""

    origin: str
    number: int
    old: NoteKey
    new: NoteKey
    size: int
    at: datetime

    def text(self) -> str:
        lines = (HEADING, self.origin, str(self.number), self.old.vkey, self.new.vkey, str(self.size))
        return "".join(f"{line}\n" for line in (*lines, utc_text(self.at)))


@dataclass(frozen=True, slots=True)
class ReadKeyChange:
    """A hand-over as found: `by_old` is False where the old key did not sign, because it was lost."""

    change: KeyChange
    by_old: bool


def log_origin(slug: str) -> str:
    """The name of a company's log, and of its keys."""
    return f"rebuild-record/{slug}"


def log_note_key(origin: str, private_key: Ed25519PrivateKey) -> NoteKey:
    """The public half of a log's key, under the log's name."""
    return note_key_of(origin, SignatureType.ED25519, private_key)


def sign_key_change(change: KeyChange, *, old: Ed25519PrivateKey | None, new: Ed25519PrivateKey) -> bytes:
    """The hand-over as a signed note; `old` is None where the old key is lost."""
    keys = [key for key in (old, new) if key is not None]
    text = change.text()
    signatures = [sign_text(text, name=change.origin, private_key=key) for key in keys]
    return write_note(SignedNote(text, tuple(signatures)))


def read_key_change(raw: bytes) -> ReadKeyChange:
    """The hand-over in a note, its signatures verified; raises `LogKeyError` or `NoteError`."""
    note = read_note(raw)
    change = _read_text(note.text)
    check = check_note(note, (change.old, change.new))
    signers = {signature.key for signature in check.verified}
    if check.failed or change.new not in signers:
        raise LogKeyError(
            "key_change_unsigned",
            f"The hand-over to key {change.number} of {change.origin} is not signed by that key.",
            "Fetch the log's keys again; if it stays so, trust neither key before the company has explained it.",
        )
    return ReadKeyChange(change, change.old in signers)


def follow_key_changes(first: NoteKey, changes: Sequence[bytes]) -> tuple[ReadKeyChange, ...]:
    """The hand-overs from `first` on, each from the key before it; raises `LogKeyError` or `NoteError`."""
    followed: list[ReadKeyChange] = []
    current = first
    for number, raw in enumerate(changes, start=2):
        read = read_key_change(raw)
        if read.change.old != current or read.change.number != number or read.change.origin != first.name:
            raise LogKeyError(
                "key_change_out_of_order",
                f"The hand-over to key {number} of {first.name} does not begin at the key before it.",
                "Fetch the log's keys again, all of them, in order.",
            )
        followed.append(read)
        current = read.change.new
    return tuple(followed)


def _read_text(text: str) -> KeyChange:
    lines = text.split("\n")[:-1]
    if len(lines) != _LINES or lines[0] != HEADING:
        raise _malformed()
    _, origin, number, old, new, size, at = lines
    try:
        change = KeyChange(
            origin, int(number), read_note_key(old), read_note_key(new), int(size), datetime.fromisoformat(at)
        )
    except (ValueError, NoteError):
        raise _malformed() from None
    if change.text() != text or {change.old.name, change.new.name} != {origin}:
        raise _malformed()
    return change


def _malformed() -> LogKeyError:
    return LogKeyError(
        "key_change_malformed", "This is no hand-over of a log's key.", "Fetch the log's keys again, unchanged."
    )
