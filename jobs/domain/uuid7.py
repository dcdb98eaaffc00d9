"""UUIDs of version 7 (RFC 9562, 5.7): 48 bits of Unix time in milliseconds, 74 random bits.

An entry's identifier is chosen by the device that makes it, so it is read strictly: a version-7 identifier in
the usual form of 36 characters, upper or lower case; `str()` of the result is the canonical lower case.
"""

import re
from typing import Final
from uuid import UUID

from shops.domain.curable_error import CurableError

RANDOM_LENGTH: Final = 10
_TIME_LIMIT: Final = 1 << 48
_FORM: Final = re.compile(r"[0-9a-fA-F]{8}-[0-9a-fA-F]{4}-7[0-9a-fA-F]{3}-[89abAB][0-9a-fA-F]{3}-[0-9a-fA-F]{12}")


class Uuid7Error(CurableError):
    """A text that is no UUID of version 7: `code` for machines, `message` and `cure` for people."""


def read_uuid7(text: object) -> UUID:
    """The identifier that `text` writes; raises `Uuid7Error` with code `not_a_uuid7`."""
    if not isinstance(text, str) or _FORM.fullmatch(text) is None:
        raise Uuid7Error(
            "not_a_uuid7",
            "The identifier is not a UUID of version 7.",
            "Make one by RFC 9562, 5.7, for example 017f22e2-79b0-7cc3-98c4-dc0c0c07398f.",
        )
    return UUID(text)


def uuid7_time_ms(identifier: UUID) -> int:
    """Milliseconds since 1970-01-01T00:00Z that a version-7 identifier carries."""
    return identifier.int >> 80


def uuid7_from(ms: int, random: bytes) -> UUID:
    """The version-7 identifier of a time and ten random bytes, of which 74 bits are used.

    `ms` counts milliseconds since 1970-01-01T00:00Z, below 2⁴⁸. Raises `ValueError` outside these bounds.
    """
    if not 0 <= ms < _TIME_LIMIT or len(random) != RANDOM_LENGTH:
        raise ValueError(f"ms lies in 0 .. 2**48 - 1 and random has {RANDOM_LENGTH} bytes")
    bits = int.from_bytes(random)
    rand_a, rand_b = bits >> 68, bits & ((1 << 62) - 1)
    return UUID(int=ms << 80 | 7 << 76 | rand_a << 64 | 2 << 62 | rand_b)
