"""Header fields of resumable uploads and of digests, read as Structured Fields (RFC 9651) have them.

Of the draft "Resumable Uploads for HTTP": `Upload-Complete` is a Boolean, `Upload-Offset` and `Upload-Length` are
non-negative Integers; anything else makes the field be ignored. `Repr-Digest` and `Content-Digest` (RFC 9530) are
Dictionaries; of them only `sha-256`, a Byte Sequence of 32 bytes, is looked at.

Example: `Repr-Digest: sha-256=:X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE=:` names the digest 5f8f04f6….
"""

import re
from base64 import b64decode, b64encode
from typing import Final

_INTEGER: Final = re.compile(r"[0-9]{1,15}", re.ASCII)
_SHA_256: Final = re.compile(r"(?:^|,)[ \t]*sha-256=:([A-Za-z0-9+/]{43}=):[ \t]*(?=,|$)")
_BOOLEANS: Final = {"?0": False, "?1": True}


def read_boolean(text: str | None) -> bool | None:
    return None if text is None else _BOOLEANS.get(text.strip(" "))


def read_integer(text: str | None) -> int | None:
    found = None if text is None else _INTEGER.fullmatch(text.strip(" "))
    return int(found[0]) if found else None


def boolean(value: bool) -> str:
    return "?1" if value else "?0"


def read_sha_256(text: str | None) -> str | None:
    """The SHA-256 that a digest field names, in hex; the last of several, as in every Dictionary."""
    found = _SHA_256.findall(text or "")
    return b64decode(found[-1]).hex() if found else None


def sha_256_field(digest: str) -> str:
    """The digest field for a SHA-256 in hex."""
    return f"sha-256=:{b64encode(bytes.fromhex(digest)).decode()}:"
