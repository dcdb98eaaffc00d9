"""When an entry was signed, as far as it can be proved: after the checkpoint that it names, before the first over it.

Rules, in plain sentences:

- **After**: an entry that names a checkpoint's size and root was signed when that root was known: after the rows under
  it were there. When that was the log says itself, in the checkpoint. Where the entry names a witness's cosignature
  too, it was signed after that witness's second, whatever the log says.
- **Before**: an entry under a checkpoint was there when the checkpoint was signed. When that was the log says itself;
  each witness that cosigned this checkpoint, or a later one, says by when at the latest.
- A witness's second under the checkpoint that is named does not make the entry younger: that checkpoint was there
  before it was cosigned. Only naming the cosignature does.
- Naming an old checkpoint, or none, makes the window wider and never false.
- A checkpoint that the log never signed proves nothing, and is shown: the phone made it up, or it saw another log.

Example: an entry names 812 leaves, signed at 14:02:11, and stands at index 815; the first checkpoint over it has 819,
signed at 14:03:12. It was signed by the phone between these two.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from hashlib import sha256
from typing import Any, Final

from jobs.domain.checkpoint import Checkpoint, CheckpointError, read_checkpoint_text
from jobs.domain.receipt import utc_text
from jobs.domain.seen_checkpoint import SeenCheckpoint
from jobs.domain.signed_note import NoteError, NoteKey, SignatureType, check_note, read_note


class Below(StrEnum):
    """What is known of the time after which an entry was signed."""

    PROVED = "proved"
    NONE_NAMED = "none_named"
    NOT_HERE = "not_here"  # no checkpoint of the size that it names is at hand
    OTHER_ROOT = "other_root"  # the log signed another root for that size: another log was seen, or none


@dataclass(frozen=True, slots=True)
class Cosigned:
    """A witness's word that a checkpoint was there at a second; `line` is the SHA-256 of the signature line, hex."""

    witness: str
    at: datetime
    line: str


@dataclass(frozen=True, slots=True)
class SignedSize:
    """A checkpoint as a clock: what its log says of the time, and what the known witnesses say."""

    size: int
    root: bytes
    signed_at: datetime | None
    cosigned: tuple[Cosigned, ...] = ()

    @property
    def witnessed_by(self) -> datetime | None:
        """The earliest second at which a witness had it before him."""
        return min((one.at for one in self.cosigned), default=None)


@dataclass(frozen=True, slots=True)
class TimeWindow:
    """`after` is there only if proved. `before` None: the entry is under no checkpoint yet.

    `after_witness` is the second of the cosignature that the entry names; `before_witness` the earliest at which a
    witness had a checkpoint over the entry before him. `named` is what the entry says.
    """

    below: Below
    named: SeenCheckpoint | None
    after: SignedSize | None = None
    after_witness: Cosigned | None = None
    before: SignedSize | None = None
    before_witness: Cosigned | None = None

    @property
    def is_proved(self) -> bool:
        """Whether both ends are."""
        return self.after is not None and self.before is not None

    @property
    def opens_at(self) -> datetime | None:
        """No earlier: the witness's second if one is named, else the log's own word."""
        if self.after_witness is not None:
            return self.after_witness.at
        return self.after.signed_at if self.after else None

    @property
    def closes_at(self) -> datetime | None:
        """No later: the log's own word, or a witness's second where the log gives none or a later one."""
        times = [
            self.before.signed_at if self.before else None,
            self.before_witness.at if self.before_witness else None,
        ]
        return min((time for time in times if time is not None), default=None)

    def document(self) -> dict[str, Any]:
        """For JSON; times in UTC."""
        return {
            "proved": self.is_proved,
            "below": self.below.value,
            "named": None if self.named is None else {"size": self.named.size, "root": self.named.root},
            "after": _signed(self.after, self.after_witness),
            "before": _signed(self.before, self.before_witness),
        }

    def sentence(self) -> str:
        """For people."""
        return f"signed {self._after()}, {self._before()}"

    def _after(self) -> str:
        if self.after is None:
            return _BELOW[self.below].format(size=self.named.size if self.named else "")
        witness = f", after {_witness(self.after_witness)}" if self.after_witness else ""
        return f"after the checkpoint of {_told(self.after)}{witness}"

    def _before(self) -> str:
        if self.before is None:
            return "not yet under a checkpoint"
        witness = f", there by {_witness(self.before_witness)}" if self.before_witness else ""
        return f"before the checkpoint of {_told(self.before)}{witness}"


_BELOW: Final = {
    Below.NONE_NAMED: "at an unproved time (it names no checkpoint)",
    Below.NOT_HERE: "at an unproved time (it names a checkpoint of {size} leaves that is not at hand)",
    Below.OTHER_ROOT: "at an unproved time (it names a root for {size} leaves that this log never signed)",
}


def time_window(seen: SeenCheckpoint | None, index: int | None, checkpoints: Sequence[SignedSize]) -> TimeWindow:
    """The window of the entry at `index` of the log (None: it has no place yet) among `checkpoints` of that log."""
    by_size = {one.size: one for one in checkpoints}
    over = sorted((one for one in checkpoints if index is not None and one.size > index), key=lambda one: one.size)
    by_then = min((word for one in over for word in one.cosigned), key=lambda word: word.at, default=None)
    before = over[0] if over else None
    if seen is None:
        return TimeWindow(Below.NONE_NAMED, None, before=before, before_witness=by_then)
    named = by_size.get(seen.size)
    if named is None or named.root.hex() != seen.root:
        below = Below.NOT_HERE if named is None else Below.OTHER_ROOT
        return TimeWindow(below, seen, before=before, before_witness=by_then)
    word = next((word for word in named.cosigned if word.line == seen.cosignature), None)
    return TimeWindow(Below.PROVED, seen, named, word, before, by_then)


def signed_size(note: bytes, witness_keys: Sequence[NoteKey]) -> SignedSize | None:
    """The checkpoint in `note` as a clock; None if it is none. Whether its log signed it is the caller's to ask."""
    try:
        read = read_note(note)
        checkpoint = read_checkpoint_text(read.text)
    except (NoteError, CheckpointError):
        return None
    lines = {(one.name, one.key_id): one.line() for one in read.signatures}
    words = [
        Cosigned(found.key.name, _second(found.timestamp), line_digest(lines[(found.key.name, found.key.key_id)]))
        for found in check_note(read, [key for key in witness_keys if key.kind is SignatureType.COSIGNATURE]).verified
        if found.timestamp is not None and found.timestamp <= _LAST_SECOND
    ]
    return SignedSize(checkpoint.size, checkpoint.root, checkpoint.signed_at, tuple(words))


def line_digest(line: str) -> str:
    """How an entry names a cosignature: SHA-256 of its signature line without the newline, hex."""
    return sha256(line.rstrip("\n").encode()).hexdigest()


def seen_in(note: bytes) -> dict[str, Any]:
    """What a phone says of a checkpoint that it was given: the member `seen_checkpoint` of its next entries.

    It names the last signature line that is not the log's own, if there is one. Raises `NoteError`, `CheckpointError`.
    """
    read = read_note(note)
    checkpoint: Checkpoint = read_checkpoint_text(read.text)
    others = [one for one in read.signatures if one.name != checkpoint.origin]
    named = {"cosignature": line_digest(others[-1].line())} if others else {}
    return {"size": checkpoint.size, "root": checkpoint.root.hex(), **named}


_LAST_SECOND: Final = int(datetime(9999, 1, 1, tzinfo=UTC).timestamp())


def _second(timestamp: int) -> datetime:
    return datetime.fromtimestamp(timestamp, UTC)


def _signed(one: SignedSize | None, witness: Cosigned | None) -> Mapping[str, Any] | None:
    if one is None:
        return None
    word = None if witness is None else {"name": witness.witness, "at": utc_text(witness.at)}
    at = None if one.signed_at is None else utc_text(one.signed_at)
    return {"size": one.size, "root": one.root.hex(), "signed_at": at, "witness": word}


def _told(one: SignedSize) -> str:
    at = "at a time that it does not tell" if one.signed_at is None else f"{one.signed_at:%Y-%m-%d %H:%M:%S} UTC"
    return f"{one.size} leaves (signed {at})"


def _witness(word: Cosigned | None) -> str:
    return "" if word is None else f"{word.at:%Y-%m-%d %H:%M:%S} UTC by the word of {word.witness}"
