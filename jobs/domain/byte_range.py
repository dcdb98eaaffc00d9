"""One byte range of a file (RFC 9110, 14.1.2). Several at once, and other units, are passed over: the whole is sent.

Example: of 1000 bytes `bytes=0-499` is the first half, `bytes=-100` the last hundred, `bytes=1000-` cannot be had.
"""

import re
from typing import Final

_RANGE: Final = re.compile(r"bytes=(?:([0-9]{1,15})-([0-9]{0,15})|-([0-9]{1,15}))", re.ASCII)
UNSATISFIABLE: Final = (0, 0)


def read_range(text: str | None, size: int) -> tuple[int, int] | None:
    """First byte and the one behind the last; None for the whole file; `UNSATISFIABLE` for what is beyond it."""
    found = None if text is None else _RANGE.fullmatch(text.strip())
    if found is None:
        return None
    if found[3] is not None:
        last = int(found[3])
        return (max(size - last, 0), size) if last and size else UNSATISFIABLE
    first, last = int(found[1]), int(found[2]) if found[2] else size - 1
    if found[2] and last < first:
        return None
    return (first, min(last + 1, size)) if first < size else UNSATISFIABLE
