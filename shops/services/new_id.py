"""Ids for rows that the server makes itself: UUIDv7 (RFC 9562), in the order of time."""

import secrets
from datetime import datetime
from uuid import UUID

_VERSION_7 = 7 << 76
_VARIANT = 2 << 62


def new_id(now: datetime) -> UUID:
    milliseconds = int(now.timestamp() * 1000)
    random = secrets.randbits(74)
    first, second = random >> 62, random & ((1 << 62) - 1)
    return UUID(int=(milliseconds << 80) | _VERSION_7 | (first << 64) | _VARIANT | second)
