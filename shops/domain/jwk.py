"""Public device keys as JSON Web Keys: which are accepted, how they are named, how they verify.

Rules, in plain sentences:

- Two kinds of key are accepted: OKP Ed25519 (RFC 8037) and EC P-256 (RFC 7518, 6.2), since phones keep
  P-256 keys in hardware.
- A document that carries a private part is refused, so that no private key is ever stored.
- A coordinate is canonical base64url of exactly 32 bytes; the point lies on its curve; an Ed25519 point is
  canonically encoded and not of small order (such a key verifies signatures that nobody made).
- A key is named by its RFC 7638 thumbprint: SHA-256 over its required members, base64url.
- A signature algorithm must fit the key: "Ed25519" (RFC 9864) and "EdDSA" (RFC 8037) an Ed25519 key,
  "ES256" (RFC 7518, 3.4) a P-256 key. Nothing else verifies.
"""

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from hashlib import sha256
from types import MappingProxyType
from typing import Final

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ec import (
    ECDSA,
    SECP256R1,
    EllipticCurvePublicKey,
    EllipticCurvePublicNumbers,
)
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from nacl.bindings import crypto_sign_open
from nacl.exceptions import BadSignatureError

from shops.domain.curable_error import CurableError
from shops.domain.ed25519_point import refusal_of

COORDINATE_LENGTH: Final = 32
SIGNATURE_LENGTH: Final = 64
ALGORITHMS: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {"Ed25519": frozenset({"Ed25519", "EdDSA"}), "ES256": frozenset({"ES256"})}
)
"""The signature algorithms that fit a key, by `PublicJwk.alg`."""
_CURVES: Final = {("OKP", "Ed25519"): ("Ed25519", ("x",)), ("EC", "P-256"): ("ES256", ("x", "y"))}
_PRIVATE: Final = frozenset({"d", "p", "q", "dp", "dq", "qi", "oth", "k", "priv"})
_ECDSA_SHA256: Final = ECDSA(SHA256())


class JwkError(CurableError):
    """A key document that is not accepted: `code` for machines, `message` and `cure` for people."""


@dataclass(frozen=True, slots=True)
class PublicJwk:
    """A public key whose point was checked.

    `alg` is "Ed25519" or "ES256"; `thumbprint` the RFC 7638 name (43 characters); `canonical` only the
    required members, sorted by name.
    """

    kty: str
    crv: str
    alg: str
    thumbprint: str
    canonical: Mapping[str, str]

    @property
    def canonical_json(self) -> str:
        """The RFC 7638, 3 form: required members only, sorted, without white space."""
        return json.dumps(dict(self.canonical), separators=(",", ":"))


def read_public_jwk(document: Mapping[str, object]) -> PublicJwk:
    """The public key that a JWK describes.

    Raises `JwkError` with code `private_key_sent`, `key_type_refused`, `key_malformed` or `key_weak`.
    """
    _refuse_private_members(document)
    kty, crv = document.get("kty"), document.get("crv")
    if not isinstance(kty, str) or not isinstance(crv, str) or (kty, crv) not in _CURVES:
        raise JwkError(
            "key_type_refused",
            f"A key of type {kty!r} on curve {crv!r} is not accepted.",
            "Make an OKP Ed25519 or an EC P-256 key on the device.",
        )
    alg, names = _CURVES[kty, crv]
    _refuse_other_purpose(document, alg)
    coordinates = {name: _coordinate(document, name) for name in names}
    canonical = dict(sorted({"kty": kty, "crv": crv, **coordinates}.items()))
    _check_point(crv, coordinates)
    digest = sha256(json.dumps(canonical, separators=(",", ":")).encode()).digest()
    return PublicJwk(kty, crv, alg, _base64url(digest), MappingProxyType(canonical))


@lru_cache(maxsize=4096)
def read_canonical_jwk(canonical_json: str) -> PublicJwk:
    """The key behind a stored `PublicJwk.canonical_json`; remembered, since a device's key is constant."""
    document = json.loads(canonical_json)
    if not isinstance(document, dict):
        raise JwkError("key_malformed", "A key is a JSON object.", "Send the public key as a JWK.")
    return read_public_jwk(document)


def jwk_of(public_key: Ed25519PublicKey | EllipticCurvePublicKey) -> PublicJwk:
    """The JWK of a key object, for clients that make their own keys."""
    if isinstance(public_key, Ed25519PublicKey):
        raw = public_key.public_bytes(Encoding.Raw, PublicFormat.Raw)
        return read_public_jwk({"kty": "OKP", "crv": "Ed25519", "x": _base64url(raw)})
    numbers = public_key.public_numbers()
    crv = "P-256" if isinstance(public_key.curve, SECP256R1) else public_key.curve.name
    x, y = (_base64url(n.to_bytes((public_key.key_size + 7) // 8)) for n in (numbers.x, numbers.y))
    return read_public_jwk({"kty": "EC", "crv": crv, "x": x, "y": y})


def algorithm_fits(jwk: PublicJwk, alg: str) -> bool:
    """Whether a signature that says it was made with `alg` can be one of this key."""
    return alg in ALGORITHMS[jwk.alg]


def verify_signature(jwk: PublicJwk, message: bytes, signature: bytes) -> bool:
    """Whether `signature` is this key's over `message`.

    An Ed25519 signature is the 64 bytes of RFC 8032; an ES256 one the 64 bytes R || S of RFC 7518, 3.4,
    not the DER form. The key decides the algorithm, never the message.
    """
    if len(signature) != SIGNATURE_LENGTH:
        return False
    verify = _verifier(jwk.crv, jwk.canonical["x"], jwk.canonical.get("y", ""))
    try:
        verify(signature, message)
    except InvalidSignature:
        return False
    return True


@lru_cache(maxsize=4096)
def _verifier(crv: str, x: str, y: str) -> Callable[[bytes, bytes], None]:
    """What raises `InvalidSignature` unless (signature, message) belong together, for one key."""
    if crv == "Ed25519":
        return partial(_verify_ed25519, _decode(x))
    key = _p256_numbers(x, y).public_key()

    def verify(signature: bytes, message: bytes) -> None:
        r, s = int.from_bytes(signature[:32]), int.from_bytes(signature[32:])
        key.verify(encode_dss_signature(r, s), message, _ECDSA_SHA256)

    return verify


def _verify_ed25519(public_key: bytes, signature: bytes, message: bytes) -> None:
    """RFC 8032, 5.1.7, by libsodium: half the time of OpenSSL's, and it refuses what is not canonical."""
    try:
        crypto_sign_open(signature + message, public_key)
    except BadSignatureError:
        raise InvalidSignature from None


def _refuse_private_members(document: Mapping[str, object]) -> None:
    found = sorted(_PRIVATE.intersection(document))
    if found:
        raise JwkError(
            "private_key_sent",
            f"The key document carries the private member {found[0]!r}; that part never leaves its device.",
            "Discard this key, make a new one on the device and send only its public part.",
        )


def _refuse_other_purpose(document: Mapping[str, object], alg: str) -> None:
    if document.get("use", "sig") != "sig" or document.get("alg", alg) not in ALGORITHMS[alg]:
        raise JwkError(
            "key_type_refused",
            "The key document names a purpose or an algorithm that does not fit its curve.",
            f'Leave out "use" and "alg", or say "sig" and "{alg}".',
        )


def _coordinate(document: Mapping[str, object], name: str) -> str:
    """The member `name`, if it is canonical base64url of 32 bytes (43 characters, no padding)."""
    text = document.get(name)
    if isinstance(text, str) and text.isascii():
        try:
            raw = _decode(text)
        except ValueError:
            raw = b""
        if len(raw) == COORDINATE_LENGTH and _base64url(raw) == text:
            return text
    raise JwkError(
        "key_malformed",
        f"The member {name!r} is not base64url, without padding, of {COORDINATE_LENGTH} bytes.",
        "Send the public key as the device's key store exports it.",
    )


def _check_point(crv: str, coordinates: Mapping[str, str]) -> None:
    if crv == "Ed25519":
        refusal = refusal_of(_decode(coordinates["x"]))
        if refusal is not None:
            raise JwkError(refusal.code, refusal.message, "Make a new key on the device and enrol that.")
        return
    try:
        _p256_numbers(coordinates["x"], coordinates["y"]).public_key()
    except ValueError:
        raise JwkError(
            "key_malformed",
            "The point (x, y) does not lie on the curve P-256.",
            "Send the public key as the device's key store exports it.",
        ) from None


def _p256_numbers(x: str, y: str) -> EllipticCurvePublicNumbers:
    return EllipticCurvePublicNumbers(int.from_bytes(_decode(x)), int.from_bytes(_decode(y)), SECP256R1())


def _base64url(raw: bytes) -> str:
    return urlsafe_b64encode(raw).rstrip(b"=").decode()


def _decode(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))
