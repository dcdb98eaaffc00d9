"""Canonical JSON: one byte string for one value (RFC 8785, JCS), so that a digest names a document.

Members are sorted by their UTF-16 form, numbers are written as ECMAScript does, texts are left as they are
(no Unicode normalisation). Measurements do not travel as numbers here; they are texts, as typed.
"""

from hashlib import sha256
from typing import Final

import orjson
import rfc8785

from shops.domain.curable_error import CurableError

_LARGEST: Final = 2**53 - 1


class CanonicalJsonError(CurableError):
    """A value that has no canonical form: `code` for machines, `message` and `cure` for people."""


def canonical_json(value: object) -> bytes:
    """The RFC 8785 bytes of a value made of dict, list, tuple, str, int, float, bool and None.

    Raises `CanonicalJsonError` with code `not_canonical`: an integer beyond ±(2^53 - 1), NaN or an infinity,
    half a surrogate pair, a member name that is no text, another type, or nesting that exhausts the stack.
    """
    try:
        if _is_plain(value):
            return orjson.dumps(value, option=orjson.OPT_SORT_KEYS)
    except (RecursionError, TypeError):
        pass  # told below
    try:
        return rfc8785.dumps(value)  # type: ignore[arg-type] # it refuses what it cannot write
    except (ValueError, TypeError) as error:
        raise _refusal(str(error)) from None
    except RecursionError:
        raise _refusal("nested too deeply") from None


def _is_plain(value: object) -> bool:
    """Whether orjson writes a value as RFC 8785 does, sixty times faster: no float, no large number, ASCII names."""
    if type(value) is str or type(value) is bool or value is None:
        return True
    if type(value) is dict:
        return all(type(name) is str and name.isascii() and _is_plain(inner) for name, inner in value.items())
    if type(value) is list or type(value) is tuple:
        return all(_is_plain(inner) for inner in value)
    return type(value) is int and -_LARGEST <= value <= _LARGEST


def canonical_digest(value: object) -> bytes:
    """The SHA-256, 32 bytes, of a value's canonical form."""
    return sha256(canonical_json(value)).digest()


def is_canonical(raw: bytes, value: object) -> bool:
    """Whether `raw` is the one canonical spelling of `value`, its parsed form."""
    return canonical_json(value) == raw


def _refusal(why: str) -> CanonicalJsonError:
    return CanonicalJsonError(
        "not_canonical",
        f"The value has no canonical JSON form: {why}.",
        "Use texts, whole numbers within ±(2^53 - 1), true, false, null, lists and objects.",
    )
