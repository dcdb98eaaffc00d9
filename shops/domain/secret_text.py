"""The secrets that people and phones carry: how they look, and the hash under which they are kept.

- An access token is `rr_` and 32 random bytes in base64url: 43 characters, no padding.
- An enrolment code is 12 characters in three groups, typed by hand in the bay: capitals and digits without
  those that are taken for others (0 O, 1 I L, U V). 29 signs to the twelfth are 58 bits; a code works once
  and for three days at most. How it is typed, in small letters or without its dashes, does not matter.
"""

from base64 import urlsafe_b64encode
from collections.abc import Callable
from hashlib import sha256

TOKEN_PREFIX = "rr_"  # noqa: S105 # what every token begins with
TOKEN_BYTES = 32
CODE_SIGNS = "23456789ABCDEFGHJKMNPQRSTWXYZ"
CODE_LENGTH = 12
_GROUP = 4


def token_text(random: bytes) -> str:
    """Raises ValueError unless `random` has 32 bytes."""
    if len(random) != TOKEN_BYTES:
        raise ValueError(f"a token is made of {TOKEN_BYTES} random bytes")
    return TOKEN_PREFIX + urlsafe_b64encode(random).rstrip(b"=").decode()


def code_text(choose: Callable[[str], str]) -> str:
    """A code, each sign picked by `choose`: `7KQM-2RWX-9TDH`."""
    signs = "".join(choose(CODE_SIGNS) for _ in range(CODE_LENGTH))
    return "-".join(signs[at : at + _GROUP] for at in range(0, CODE_LENGTH, _GROUP))


def code_hash(code: str) -> bytes:
    """The SHA-256 of the code, however it was typed."""
    signs = "".join(sign for sign in code.upper() if sign not in "- ")
    return sha256(signs.encode()).digest()
