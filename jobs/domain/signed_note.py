"""Signed notes (C2SP signed-note): a text that several keys sign, readable by people and by machines.

Rules, in plain sentences:

- A note is UTF-8: a text that ends in a newline, an empty line, then signature lines "— name base64". It
  has no control character but the newline. The last empty line separates text and signatures.
- A signature line carries four bytes of key ID, then the signature. Name and ID together name key and
  algorithm.
- Signatures of unknown keys are ignored. A known key's signature that fails condemns the whole note. A note
  that no known key signed says nothing.
- Two kinds of signature: Ed25519 over the text (type 01), and a witness's cosignature/v1 (type 04, C2SP
  tlog-cosignature) over the text and the second at which it was made.
"""

import re
from base64 import b64decode, b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from hashlib import sha256
from typing import Final

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from nacl.bindings import crypto_sign_open
from nacl.exceptions import BadSignatureError

from shops.domain.curable_error import CurableError
from shops.domain.ed25519_point import refusal_of

NOTE_LIMIT: Final = 1 << 20
SIGNATURES_LIMIT: Final = 100
_KEY_ID_LENGTH: Final = 4
_TIMESTAMP_LENGTH: Final = 8
_TIMESTAMP_LIMIT: Final = 1 << 63
_SIGNATURE_LENGTH: Final = 64
_PUBLIC_KEY_LENGTH: Final = 32
_CONTROL: Final = re.compile(r"[\x00-\x09\x0b-\x1f]")
_NAME: Final = re.compile(r"[^\s\x00-\x1f+\ud800-\udfff]+")
_DASH: Final = "\N{EM DASH} "


class NoteError(CurableError):
    """A note or key that is not accepted: `code` for machines, `message` and `cure` for people.

    Codes: `note_malformed`, `note_key_malformed`, `note_signature_wrong`, `note_unsigned`.
    """


class SignatureType(IntEnum):
    """The type byte of a key, as C2SP assigns it."""

    ED25519 = 1
    COSIGNATURE = 4


_KINDS: Final = frozenset(int(kind) for kind in SignatureType)


@dataclass(frozen=True, slots=True)
class NoteKey:
    """A known key: its name, what kind of signature it makes, its 32 public bytes (RFC 8032)."""

    name: str
    kind: SignatureType
    public_key: bytes

    @property
    def key_id(self) -> bytes:
        """SHA-256(name || newline || type || public key), its first four bytes."""
        named = self.name.encode() + b"\n" + bytes([self.kind]) + self.public_key
        return sha256(named).digest()[:_KEY_ID_LENGTH]

    @property
    def vkey(self) -> str:
        """The verifier key as people exchange it: name+key ID in hex+base64 of type and public key."""
        return f"{self.name}+{self.key_id.hex()}+{b64encode(bytes([self.kind]) + self.public_key).decode()}"


@dataclass(frozen=True, slots=True)
class NoteSignature:
    """One signature line: `signature` is what follows the four bytes of `key_id`."""

    name: str
    key_id: bytes
    signature: bytes

    def line(self) -> str:
        """The line as it stands in a note, newline included."""
        return f"{_DASH}{self.name} {b64encode(self.key_id + self.signature).decode()}\n"


@dataclass(frozen=True, slots=True)
class SignedNote:
    """A note taken apart, nothing verified; `text` includes its last newline."""

    text: str
    signatures: tuple[NoteSignature, ...]


@dataclass(frozen=True, slots=True)
class VerifiedSignature:
    """A known key that signed; `timestamp` in seconds since 1970-01-01T00:00Z for a cosignature."""

    key: NoteKey
    timestamp: int | None


@dataclass(frozen=True, slots=True)
class NoteCheck:
    """What the known keys say about a note: each key once, and those with a signature that fails."""

    text: str
    verified: tuple[VerifiedSignature, ...]
    failed: tuple[NoteKey, ...]


def read_note_key(vkey: str) -> NoteKey:
    """The key that a verifier key string writes; raises `NoteError` (`note_key_malformed`)."""
    name, *rest = vkey.split("+", 2)
    key_id, encoded = rest if len(rest) == 2 else ("", "")  # noqa: PLR2004 (three parts)
    raw = _base64(encoded) or b""
    if not _is_name(name) or len(raw) != 1 + _PUBLIC_KEY_LENGTH or raw[0] not in _KINDS:
        raise _bad_key("it is not name+key ID+base64 of a known type and 32 bytes")
    refusal = refusal_of(raw[1:])
    if refusal is not None:
        raise _bad_key(refusal.message)
    key = NoteKey(name, SignatureType(raw[0]), raw[1:])
    if key.key_id.hex() != key_id:
        raise _bad_key("its key ID does not belong to its name and public key")
    return key


def note_key_of(name: str, kind: SignatureType, private_key: Ed25519PrivateKey) -> NoteKey:
    """The public half of a key under a name; raises `NoteError` where the name cannot stand in a note."""
    if not _is_name(name):
        raise _bad_key("a name is not empty and has no space and no plus sign")
    return NoteKey(name, kind, private_key.public_key().public_bytes_raw())


def read_note(raw: bytes) -> SignedNote:
    """Take a note apart, strictly; raises `NoteError` (`note_malformed`). Nothing is verified."""
    if len(raw) > NOTE_LIMIT:
        raise _malformed(f"it is larger than {NOTE_LIMIT} bytes")
    try:
        note = raw.decode()
    except UnicodeDecodeError:
        raise _malformed("it is not UTF-8") from None
    text, separator, lines = note.rpartition("\n\n")
    if not separator or not text or not lines.endswith("\n") or _CONTROL.search(note):
        raise _malformed("it is not a text, an empty line and signature lines")
    signatures = [_read_line(line) for line in lines[:-1].split("\n")]
    if len(signatures) > SIGNATURES_LIMIT:
        raise _malformed(f"it has more than {SIGNATURES_LIMIT} signatures")
    return SignedNote(text + "\n", tuple(signatures))


def write_note(note: SignedNote) -> bytes:
    """The bytes of a note; raises `NoteError` where they would not read back the same."""
    raw = (note.text + "\n" + "".join(signature.line() for signature in note.signatures)).encode()
    if read_note(raw) != note:
        raise _malformed("its text or a name cannot stand in a note")
    return raw


def sign_text(text: str, *, name: str, private_key: Ed25519PrivateKey) -> NoteSignature:
    """An Ed25519 signature (type 01) over `text`, its last newline included."""
    key = note_key_of(name, SignatureType.ED25519, private_key)
    return NoteSignature(name, key.key_id, private_key.sign(text.encode()))


def cosign_text(text: str, *, name: str, private_key: Ed25519PrivateKey, timestamp: int) -> NoteSignature:
    """A cosignature/v1 (type 04) over `text`, made at `timestamp`, seconds since 1970-01-01T00:00Z."""
    if not 0 <= timestamp < _TIMESTAMP_LIMIT:
        raise ValueError("a cosignature's timestamp lies in 0 .. 2**63 - 1")
    key = note_key_of(name, SignatureType.COSIGNATURE, private_key)
    signature = private_key.sign(_cosigned(text, timestamp))
    return NoteSignature(name, key.key_id, timestamp.to_bytes(_TIMESTAMP_LENGTH) + signature)


def check_note(note: SignedNote, keys: Sequence[NoteKey]) -> NoteCheck:
    """Which of the known `keys` signed the note, and which stand there with a signature that fails."""
    known = {(key.name, key.key_id): key for key in keys}
    verified: dict[NoteKey, VerifiedSignature] = {}
    failed: dict[NoteKey, None] = {}
    for line in note.signatures:
        key = known.get((line.name, line.key_id))
        if key is None:
            continue
        signature = _verify(key, note.text, line.signature)
        if signature is None:
            failed[key] = None
        else:
            verified.setdefault(key, signature)
    return NoteCheck(note.text, tuple(verified.values()), tuple(failed))


def open_note(raw: bytes, keys: Sequence[NoteKey]) -> NoteCheck:
    """Read and check a note; raises `NoteError` unless a known key signed it and none fails."""
    check = check_note(read_note(raw), keys)
    if check.failed:
        raise NoteError(
            "note_signature_wrong",
            f"The signature of {check.failed[0].name} does not match the note's text.",
            "Fetch the note again; if it stays so, it was altered: keep it and compare with other copies.",
        )
    if not check.verified:
        raise NoteError(
            "note_unsigned",
            "No known key signed the note.",
            "Give the verifier key of whoever should have signed.",
        )
    return check


def _verify(key: NoteKey, text: str, signature: bytes) -> VerifiedSignature | None:
    """The verified signature of `key` over `text`, or None."""
    timestamp, message = None, text.encode()
    if key.kind is SignatureType.COSIGNATURE:
        timestamp, signature = int.from_bytes(signature[:_TIMESTAMP_LENGTH]), signature[_TIMESTAMP_LENGTH:]
        message = _cosigned(text, timestamp)
    if len(signature) != _SIGNATURE_LENGTH or (timestamp or 0) >= _TIMESTAMP_LIMIT:
        return None
    try:
        crypto_sign_open(signature + message, key.public_key)  # libsodium, as for the entries
    except BadSignatureError:
        return None
    return VerifiedSignature(key, timestamp)


def _cosigned(text: str, timestamp: int) -> bytes:
    return f"cosignature/v1\ntime {timestamp}\n{text}".encode()


def _read_line(line: str) -> NoteSignature:
    name, _, encoded = line.removeprefix(_DASH).partition(" ")
    raw = _base64(encoded)
    if not line.startswith(_DASH) or not _is_name(name) or raw is None or len(raw) <= _KEY_ID_LENGTH:
        raise _malformed(f"the line {line[:60]!r} is no signature line")
    return NoteSignature(name, raw[:_KEY_ID_LENGTH], raw[_KEY_ID_LENGTH:])


def _base64(text: str) -> bytes | None:
    """The bytes of canonical, padded base64 (RFC 4648, 4), or None."""
    try:
        raw = b64decode(text, validate=True)
    except ValueError:
        return None
    return raw if b64encode(raw).decode() == text else None


def _is_name(name: str) -> bool:
    return _NAME.fullmatch(name) is not None


def _malformed(why: str) -> NoteError:
    return NoteError("note_malformed", f"This is no signed note: {why}.", "Fetch it again, unchanged.")


def _bad_key(why: str) -> NoteError:
    return NoteError("note_key_malformed", f"The verifier key is refused: {why}.", "Copy the whole key, name included.")
