"""One JSON object, read so strictly that every reader of the same bytes sees the same facts.

Refused: anything but an object, bytes that are not UTF-8, a member twice (readers differ in which one wins,
RFC 8259, 4), numbers that are not whole or lie beyond ±(2⁵³ - 1) (RFC 8259, 6; a measurement travels as
text), NaN and Infinity, text with NUL or an unpaired surrogate, and nesting deeper than 32.
"""

import json
import re
from collections.abc import Iterable
from typing import Final, Never

import orjson

from shops.domain.curable_error import CurableError

DEPTH_LIMIT: Final = 32
INTEGER_LIMIT: Final = 2**53 - 1
_DIGITS_LIMIT: Final = 17  # a sign and the sixteen digits of 2**53
_RISKY_ESCAPE: Final = re.compile(rb"\\u(?:0000|[dD][89a-fA-F])")  # only these can hide NUL or a surrogate
_RISKY_NUMBER: Final = re.compile(rb"[:\[,]-?[0-9]+(?:[.eE]|(?<=[0-9]{16}))")  # no whole number of fewer digits
_TEXT_CURE: Final = "Send plain text without control characters."
_NUMBER_CURE: Final = "Send whole numbers; send a measurement as text, as it was typed."


class StrictJsonError(CurableError):
    """Bytes that are not accepted as JSON.

    `code` is `malformed`, `duplicate_member`, `too_deep`, `number_refused` or `text_refused`.
    """


def read_strict_object(raw: bytes) -> dict[str, object]:
    """The object that `raw` writes; raises `StrictJsonError`."""
    return _read_compact(raw) or _read_slowly(raw)


def _read_compact(raw: bytes) -> dict[str, object] | None:
    """The object, five times faster, where `raw` is what would be written for it and holds nothing to look at twice.

    A member that stands twice is read once, so written again the bytes are others; so are blanks and odd spellings.
    """
    if b"\\u" in raw or _RISKY_NUMBER.search(raw) is not None:
        return None
    try:
        value = orjson.loads(raw)
        if type(value) is not dict or orjson.dumps(value) != raw:
            return None
    except (ValueError, TypeError):  # what orjson cannot read, or nests too deeply to be written
        return None
    if raw.count(b"[") + raw.count(b"{") > DEPTH_LIMIT:
        _check_depth(value)
    return value


def _read_slowly(raw: bytes) -> dict[str, object]:
    try:
        value = _decoder.decode(raw.decode())
    except RecursionError:
        raise _too_deep() from None
    except ValueError as error:  # UnicodeDecodeError and JSONDecodeError are both
        raise StrictJsonError("malformed", f"This is not JSON in UTF-8: {error}.", "Send valid JSON.") from None
    if not isinstance(value, dict):
        raise StrictJsonError("malformed", "The JSON is not an object.", "Send a JSON object.")
    if raw.count(b"[") + raw.count(b"{") > DEPTH_LIMIT:
        _check_depth(value)
    if _RISKY_ESCAPE.search(raw) is not None:
        _check_texts(value)
    return value


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members = dict(pairs)
    if len(members) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise StrictJsonError(
            "duplicate_member",
            f"The member {twice[:60]!r} stands twice in one object.",
            "Send each member once.",
        )
    return members


def _integer(text: str) -> int:
    if len(text) <= _DIGITS_LIMIT and abs(number := int(text)) <= INTEGER_LIMIT:
        return number
    raise StrictJsonError("number_refused", "A whole number lies beyond ±(2^53 - 1).", _NUMBER_CURE)


def _no_float(text: str) -> Never:
    raise StrictJsonError("number_refused", f"The number {text[:40]} is not a whole number.", _NUMBER_CURE)


_decoder: Final = json.JSONDecoder(
    object_pairs_hook=_object, parse_int=_integer, parse_float=_no_float, parse_constant=_no_float
)


def _check_depth(value: object) -> None:
    """Walk level by level, so that no depth can exhaust the stack."""
    level: list[object] = [value]
    for _ in range(DEPTH_LIMIT):
        level = [inner for outer in level for inner in _inside(outer) if isinstance(inner, dict | list)]
        if not level:
            return
    raise _too_deep()


def _check_texts(value: object) -> None:
    waiting: list[object] = [value]
    while waiting:
        item = waiting.pop()
        if isinstance(item, str):
            _check_text(item)
        elif isinstance(item, dict | list):
            waiting.extend(_inside(item))
            waiting.extend(item)


def _check_text(text: str) -> None:
    if "\0" in text:
        raise StrictJsonError("text_refused", "A text contains NUL.", _TEXT_CURE)
    try:
        text.encode()
    except UnicodeEncodeError:
        raise StrictJsonError("text_refused", "A text contains half of a surrogate pair.", _TEXT_CURE) from None


def _inside(value: object) -> Iterable[object]:
    if isinstance(value, dict):
        return value.values()
    return value if isinstance(value, list) else ()


def _too_deep() -> StrictJsonError:
    return StrictJsonError("too_deep", f"The JSON is nested deeper than {DEPTH_LIMIT}.", "Send flatter JSON.")
