"""Signed tokens as compact JWS (RFC 7515): read strictly, verified by the key alone, kept as sent.

Rules, in plain sentences:

- A token is ASCII, at most 64 KiB, three parts joined by dots, each canonical base64url without padding.
- Its header is a JSON object with exactly `alg`, `kid` and `typ`, all texts. Anything else (`crit`, `jwk`,
  `x5u`, `b64` ...) is refused, so that no token can bring its own key or change what is signed.
- `alg` is Ed25519 (RFC 9864), EdDSA (RFC 8037) or ES256; `none` and all shared-secret algorithms are refused.
- `kid` is an RFC 7638 SHA-256 thumbprint. `typ` names the purpose; the caller says which purpose it wants.
- A token verifies under a key only where `kid` names that key and `alg` fits it.
- The payload stays the bytes that were signed; it is parsed apart from them and never re-encoded.
"""

import re
from base64 import urlsafe_b64encode
from binascii import Error as Base64Error
from binascii import a2b_base64
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from types import MappingProxyType
from typing import Final

from cryptography.hazmat.primitives.asymmetric.ec import ECDSA, EllipticCurvePrivateKey
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256

from shops.domain.curable_error import CurableError
from shops.domain.jwk import SIGNATURE_LENGTH, PublicJwk, algorithm_fits, verify_signature
from shops.domain.strict_json import StrictJsonError, read_strict_object

TOKEN_LIMIT: Final = 64 * 1024
HEADER_LIMIT: Final = 512
ALGORITHMS: Final = frozenset({"Ed25519", "EdDSA", "ES256"})
_MEMBERS: Final = frozenset({"alg", "kid", "typ"})
_THUMBPRINT: Final = re.compile(r"[A-Za-z0-9_-]{43}")
_TYP: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9!#$&^_.+/-]{0,126}")
_TO_BASE64: Final = bytes.maketrans(b"-_+/=", b"+/!!!")
_PADDING: Final = (b"", b"", b"==", b"=")
_LAST_OF_TWO: Final = frozenset(b"AQgw")
_LAST_OF_THREE: Final = frozenset(b"AEIMQUYcgkosw048")


class JwsError(CurableError):
    """A token or payload that is no entry at all: `code` for machines, `message` and `cure` for people.

    Codes: `token_too_large`, `token_malformed`, `header_refused`, `algorithm_refused`, `typ_refused`,
    `payload_malformed`, `payload_duplicate_member`, `payload_too_deep`, `payload_number_refused`,
    `payload_text_refused`.
    """


@dataclass(frozen=True, slots=True)
class CompactJws:
    """A token taken apart, its signature not yet verified.

    `payload` and `signature` are the decoded bytes; `signing_input` is what the signature covers (RFC 7515,
    5.1); `digest` is the SHA-256 of the whole token as sent.
    """

    alg: str
    kid: str
    typ: str
    header: Mapping[str, str]
    payload: bytes
    signing_input: bytes
    signature: bytes
    digest: bytes


def read_compact(token: bytes, *, typ: str | None = None) -> CompactJws:
    """Take a token apart, strictly; with `typ`, refuse a token of another purpose. Raises `JwsError`."""
    if len(token) > TOKEN_LIMIT:
        raise JwsError("token_too_large", f"The token is larger than {TOKEN_LIMIT} bytes.", "Keep photos outside.")
    parts = token.split(b".")
    if len(parts) != 3 or not (parts[0] and parts[1] and parts[2]):  # noqa: PLR2004 (RFC 7515, 3.1)
        raise _malformed("it does not have three parts joined by dots")
    header = _read_header(parts[0])
    if typ is not None and header["typ"] != typ:
        raise JwsError("typ_refused", f"The token's purpose is {header['typ']!r}, not {typ!r}.", f"Sign it as {typ}.")
    signature = _decode_part(parts[2])
    if len(signature) != SIGNATURE_LENGTH:
        raise _malformed(f"its signature does not have {SIGNATURE_LENGTH} bytes")
    return CompactJws(
        header["alg"],
        header["kid"],
        header["typ"],
        header,
        _decode_part(parts[1]),
        token[: token.rindex(b".")],
        signature,
        sha256(token).digest(),
    )


def verify_compact(token: CompactJws, jwk: PublicJwk) -> bool:
    """Whether `token` names this key, its algorithm fits the key, and the signature is the key's."""
    return (
        token.kid == jwk.thumbprint
        and algorithm_fits(jwk, token.alg)
        and verify_signature(jwk, token.signing_input, token.signature)
    )


def parse_payload(payload: bytes) -> dict[str, object]:
    """The JSON object in a payload; raises `JwsError` with a `payload_...` code (see `strict_json`)."""
    try:
        return read_strict_object(payload)
    except StrictJsonError as error:
        raise JwsError(f"payload_{error.code}", error.message, error.cure) from None


def sign_compact(
    payload: bytes,
    *,
    typ: str,
    kid: str,
    alg: str,
    private_key: Ed25519PrivateKey | EllipticCurvePrivateKey,
) -> bytes:
    """A compact JWS over `payload`, for clients. Raises `ValueError` where `alg` does not fit the key."""
    header = f'{{"alg":"{alg}","kid":"{kid}","typ":"{typ}"}}'.encode()
    signing_input = _encode_part(header) + b"." + _encode_part(payload)
    if isinstance(private_key, Ed25519PrivateKey) and alg in ("Ed25519", "EdDSA"):
        signature = private_key.sign(signing_input)
    elif isinstance(private_key, EllipticCurvePrivateKey) and alg == "ES256":
        r, s = decode_dss_signature(private_key.sign(signing_input, ECDSA(SHA256())))
        signature = r.to_bytes(32) + s.to_bytes(32)
    else:
        raise ValueError(f"algorithm {alg} does not fit the key")
    return signing_input + b"." + _encode_part(signature)


@lru_cache(maxsize=4096)
def _read_header(part: bytes) -> Mapping[str, str]:
    """The header in the token's first part; remembered, since a device sends the same one each time."""
    if len(part) > HEADER_LIMIT:
        raise _header_refused("it is too long")
    try:
        members = read_strict_object(_decode_part(part))
    except StrictJsonError as error:
        raise _header_refused(error.message) from None
    if members.keys() != _MEMBERS:
        raise _header_refused(_odd_members(members))
    header = {name: value for name, value in members.items() if isinstance(value, str)}
    if header.get("alg") not in ALGORITHMS:
        raise JwsError(
            "algorithm_refused",
            f"The algorithm {members['alg']!r} is not accepted.",
            "Sign with Ed25519 or ES256, with the device's enrolled key.",
        )
    if _THUMBPRINT.fullmatch(header.get("kid", "")) is None:
        raise _header_refused('"kid" is not a SHA-256 thumbprint')
    if _TYP.fullmatch(header.get("typ", "")) is None:
        raise _header_refused('"typ" is not a media type')
    return MappingProxyType(header)


def _odd_members(members: Mapping[str, object]) -> str:
    unknown, missing = sorted(members.keys() - _MEMBERS), sorted(_MEMBERS - members.keys())
    if unknown:
        return "unknown members: " + ", ".join(repr(name[:40]) for name in unknown[:8])
    return "missing members: " + ", ".join(missing)


def _decode_part(part: bytes) -> bytes:
    """Canonical, unpadded base64url: each byte string has exactly one spelling (RFC 4648, 3.5 and 5)."""
    rest = len(part) & 3
    if rest and (rest == 1 or part[-1] not in (_LAST_OF_TWO if rest == 2 else _LAST_OF_THREE)):  # noqa: PLR2004
        raise _malformed("a part is not canonical base64url")
    try:
        return a2b_base64(part.translate(_TO_BASE64) + _PADDING[rest], strict_mode=True)
    except (Base64Error, ValueError):
        raise _malformed("a part is not base64url without padding") from None


def _encode_part(raw: bytes) -> bytes:
    return urlsafe_b64encode(raw).rstrip(b"=")


def _malformed(why: str) -> JwsError:
    return JwsError("token_malformed", f"The token is not a compact JWS: {why}.", "Send it exactly as it was signed.")


def _header_refused(why: str) -> JwsError:
    return JwsError(
        "header_refused",
        f"The token's header is refused: {why}.",
        'Use exactly "alg", "kid" (the key\'s RFC 7638 thumbprint) and "typ".',
    )
