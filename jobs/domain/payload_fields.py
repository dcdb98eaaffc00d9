"""Takes typed members out of a JSON object and gathers what is wrong with them.

Every method answers a value of the right type even when it notes a problem, so that all problems of a payload
come back at once; `raise_problems` raises if there were any.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

TEXT_LIMIT = 4000
LIST_LIMIT = 200
_DIGEST = re.compile(r"[0-9a-f]{64}")
_UUID = re.compile(r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")
_NO_UUID = UUID(int=0)
_NO_TIME = datetime.fromisoformat("1970-01-01T00:00:00+00:00")
_FIRST_YEAR, _LAST_YEAR = 1990, 2200


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with one member: where (RFC 6901 pointer), what, and the cure."""

    pointer: str
    message: str
    cure: str


class PayloadError(ValueError):
    """A payload that is no entry, with every problem found."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("; ".join(f"{p.pointer} {p.message}" for p in problems))
        self.problems = problems


class Fields:
    """The members of one object; nested objects share the list of problems."""

    __slots__ = ("_at", "_problems", "_raw", "_taken")

    def __init__(self, raw: Mapping[str, object], at: str = "", problems: list[Problem] | None = None) -> None:
        self._raw = raw
        self._at = at
        self._problems: list[Problem] = [] if problems is None else problems
        self._taken: set[str] = set()

    def problem(self, pointer: str, message: str, cure: str) -> None:
        self._problems.append(Problem(self._at + pointer, message, cure))

    def raise_problems(self) -> None:
        if self._problems:
            raise PayloadError(self._problems)

    def take(self, name: str) -> Any:
        self._taken.add(name)
        return self._raw.get(name)

    def beyond(self, known: frozenset[str], *more: str) -> bool:
        return any(name not in known and name not in more for name in self._raw)

    def refuse_unknown(self, known: frozenset[str] = frozenset()) -> None:
        for name in self._raw:
            if name not in self._taken and name not in known:
                self.problem(f"/{name[:60]}", "is not a member of this kind of entry", "Leave it out.")

    def text(self, name: str, *, empty: bool = False) -> str:
        value = self.take(name)
        if isinstance(value, str) and len(value) <= TEXT_LIMIT and (empty or value.strip()):
            if "\x00" not in value:
                return value
            self.problem(f"/{name}", "holds a NUL character", "Send plain text.")
            return ""
        self.problem(f"/{name}", f"must be a text of 1 to {TEXT_LIMIT} characters", "Send it as a JSON string.")
        return ""

    def optional_text(self, name: str) -> str | None:
        return None if self.take(name) is None else self.text(name)

    def uuid(self, name: str) -> UUID:
        value = self.take(name)
        if isinstance(value, str) and _UUID.fullmatch(value):
            return UUID(value)
        self.problem(f"/{name}", "must be a UUID", "Send it as 8-4-4-4-12 hexadecimal digits.")
        return _NO_UUID

    def optional_uuid(self, name: str) -> UUID | None:
        return None if self.take(name) is None else self.uuid(name)

    def time(self, name: str) -> datetime:
        value = self.take(name)
        try:
            found = datetime.fromisoformat(value)
        except (TypeError, ValueError):
            self.problem(f"/{name}", "must be an RFC 3339 time", "Send for example 2026-03-02T07:10:00-06:00.")
            return _NO_TIME
        if found.tzinfo is None or len(value) <= len("2026-03-02"):
            self.problem(f"/{name}", "has no offset from UTC", "Add the offset, as in 2026-03-02T07:10:00-06:00.")
            return _NO_TIME
        if not _FIRST_YEAR <= found.year <= _LAST_YEAR:
            self.problem(f"/{name}", "is not in this era", "Set the device's clock and send the real time.")
            return _NO_TIME
        return found

    def optional_time(self, name: str) -> datetime | None:
        return None if self.take(name) is None else self.time(name)

    def optional_date(self, name: str) -> date | None:
        value = self.take(name)
        if value is None:
            return None
        try:
            if len(value) == len("2026-03-02"):
                return date.fromisoformat(value)
        except (TypeError, ValueError):
            pass
        self.problem(f"/{name}", "must be a date", "Send for example 2026-03-02.")
        return None

    def whole(self, name: str, *, least: int) -> int:
        value = self.take(name)
        if isinstance(value, int) and not isinstance(value, bool) and value >= least:
            return value
        self.problem(f"/{name}", f"must be a whole number of at least {least}", "Send it as a JSON number.")
        return least

    def optional_whole(self, name: str) -> int | None:
        return None if self.take(name) is None else self.whole(name, least=0)

    def flag(self, name: str) -> bool:
        value = self.take(name)
        if value is None or isinstance(value, bool):
            return bool(value)
        self.problem(f"/{name}", "must be true or false", "Send it as a JSON boolean.")
        return False

    def optional_flag(self, name: str) -> bool | None:
        return None if self.take(name) is None else self.flag(name)

    def digest(self, name: str) -> str:
        value = self.take(name)
        if isinstance(value, str) and _DIGEST.fullmatch(value):
            return value
        self.problem(f"/{name}", "must be a SHA-256 digest", "Send 64 lower-case hexadecimal digits.")
        return ""

    def optional_digest(self, name: str) -> str | None:
        return None if self.take(name) is None else self.digest(name)

    def digests(self, name: str) -> tuple[str, ...]:
        values = self.texts(name)
        if all(_DIGEST.fullmatch(value) for value in values):
            return values
        self.problem(f"/{name}", "must be SHA-256 digests", "Send 64 lower-case hexadecimal digits each.")
        return ()

    def texts(self, name: str) -> tuple[str, ...]:
        value = self.take(name)
        if value is None:
            return ()
        if isinstance(value, list) and len(value) <= LIST_LIMIT and all(_is_text(item) for item in value):
            return tuple(value)
        self.problem(f"/{name}", f"must be a list of at most {LIST_LIMIT} texts", "Send a JSON array of strings.")
        return ()

    def object(self, name: str) -> "Fields":
        value = self.take(name)
        if isinstance(value, dict):
            return Fields(value, f"{self._at}/{name}", self._problems)
        self.problem(f"/{name}", "must be an object", "Send a JSON object.")
        return Fields({}, f"{self._at}/{name}", self._problems)

    def optional_object(self, name: str) -> "Fields | None":
        return None if self.take(name) is None else self.object(name)

    def objects(self, name: str) -> list["Fields"]:
        value = self.take(name)
        if value is None:
            return []
        if isinstance(value, list) and len(value) <= LIST_LIMIT and all(isinstance(v, dict) for v in value):
            return [Fields(v, f"{self._at}/{name}/{i}", self._problems) for i, v in enumerate(value)]
        self.problem(f"/{name}", f"must be a list of at most {LIST_LIMIT} objects", "Send a JSON array of objects.")
        return []

    def texts_by_name(self, name: str) -> Mapping[str, str] | None:
        found: Mapping[str, str] | None = self._mapping(name, _is_text, "texts")
        return found

    def wholes_by_name(self, name: str) -> Mapping[str, int] | None:
        found: Mapping[str, int] | None = self._mapping(name, _is_whole, "whole numbers")
        return found

    def flags_by_name(self, name: str) -> Mapping[str, bool]:
        return self._mapping(name, _is_flag, "true or false") or {}

    def _mapping(self, name: str, fits: Any, what: str) -> Any:
        value = self.take(name)
        if value is None:
            return None
        if isinstance(value, dict) and len(value) <= LIST_LIMIT and all(fits(v) for v in value.values()):
            return value
        self.problem(f"/{name}", f"must be an object whose values are {what}", "Send a JSON object.")
        return {}


def _is_text(value: object) -> bool:
    return isinstance(value, str) and len(value) <= TEXT_LIMIT and "\x00" not in value


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _is_flag(value: object) -> bool:
    return isinstance(value, bool)
