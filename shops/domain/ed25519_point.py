"""Is a 32-byte Ed25519 public key one that only its holder can sign for? Arithmetic of RFC 8032, 5.1.

The curve is -x² + y² = 1 + d·x²·y² over the integers modulo p = 2²⁵⁵ - 19. A key is the coordinate y, little
end first, with the sign of x in the highest bit.

Example: the key 0100…00 (y = 1) is the neutral element; the signature (R = neutral, S = 0) "verifies" under
it for every message, so it is refused.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

P: Final = 2**255 - 19
D: Final = -121665 * pow(121666, -1, P) % P
_SQRT_MINUS_ONE: Final = pow(2, (P - 1) // 4, P)
_NEUTRAL: Final = (0, 1)


@dataclass(frozen=True, slots=True)
class PointRefusal:
    """Why an encoded point is no acceptable key; `code` is `key_malformed` or `key_weak`."""

    code: str
    message: str


@lru_cache(maxsize=4096)
def refusal_of(encoded: bytes) -> PointRefusal | None:
    """Why the 32 bytes `encoded` are refused as a public key, or None where they are good."""
    bits = int.from_bytes(encoded, "little")
    y, sign = bits & (2**255 - 1), bits >> 255
    if y >= P:
        return PointRefusal("key_malformed", "The Ed25519 key is not canonically encoded: y is not below p.")
    x = _x_of(y, sign)
    if x is None:
        return PointRefusal("key_malformed", "The Ed25519 key is no point of the curve.")
    if _times_eight((x, y)) == _NEUTRAL:
        return PointRefusal("key_weak", "The Ed25519 key has small order: it would verify what nobody signed.")
    return None


def _x_of(y: int, sign: int) -> int | None:
    """The x of RFC 8032, 5.1.3 steps 2 to 4; None where there is none or the sign of x = 0 is set."""
    u, v = (y * y - 1) % P, (D * y * y + 1) % P
    x = u * pow(v, 3, P) * pow(u * pow(v, 7, P), (P - 5) // 8, P) % P
    if v * x * x % P == -u % P:
        x = x * _SQRT_MINUS_ONE % P
    if v * x * x % P != u or (x == 0 and sign):
        return None
    return P - x if x & 1 != sign else x


def _times_eight(point: tuple[int, int]) -> tuple[int, int]:
    """Eight times a point: three doublings, which take every point of small order to the neutral one."""
    x, y = point
    for _ in range(3):
        t = D * x * x * y * y % P
        x, y = (
            2 * x * y * pow(1 + t, -1, P) % P,
            (y * y + x * x) * pow(1 - t, -1, P) % P,
        )
    return x, y
