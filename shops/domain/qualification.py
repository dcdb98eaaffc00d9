"""What a technician may be qualified for, and when a grant is in force."""

from datetime import datetime
from enum import StrEnum


class Scope(StrEnum):
    """What a technician may be qualified for."""

    STRIP = "strip"
    REBUILD = "rebuild"
    MEASURE = "measure"
    WELD = "weld"
    ADJUST = "adjust"
    VERIFY = "verify"
    RELEASE = "release"


def in_force(at: datetime, *, valid_from: datetime, valid_to: datetime | None, withdrawn_from: datetime | None) -> bool:
    """Whether a grant holds at `at`: from its first moment on, up to but without its last."""
    ended = (valid_to is not None and at >= valid_to) or (withdrawn_from is not None and at >= withdrawn_from)
    return valid_from <= at and not ended
