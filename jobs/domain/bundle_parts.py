"""A bundle's members as the verifier reads them: texts parsed, nothing believed yet."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final
from uuid import UUID

import orjson

from jobs.domain import bundle
from jobs.domain.verification_finding import Remark, Step, mismatch, note

Row = Mapping[str, Any]
_ID: Final = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_OF_A_LINE: Final = {"columns", "id", "table"}

MALFORMED: Final = (KeyError, TypeError, ValueError, AttributeError, IndexError, ArithmeticError, RecursionError)
"""What reading a document of another shape than the format's raises."""


@dataclass(frozen=True, slots=True)
class SentEntry:
    """An entry as sent, and the canonical receipt."""

    name: str
    position: int
    token: bytes
    receipt: bytes | None


@dataclass(frozen=True, slots=True)
class FactLine:
    """A row of a logged table: the very bytes that its leaf is over, and what they say."""

    name: str
    table: str
    raw: bytes
    id: str
    columns: Row
    row: Row  # the columns and the id


@dataclass(slots=True)
class BundleParts:
    """All members, read. What could not be read is missing here and told in a remark."""

    manifest: Row
    opening: bytes = b""
    entries: list[SentEntry] = field(default_factory=list)
    facts: dict[str, list[FactLine]] = field(default_factory=dict)
    procedures: dict[str, bytes] = field(default_factory=dict)
    register: Row = field(default_factory=dict)
    claims: Row = field(default_factory=dict)
    devices: Row = field(default_factory=dict)
    leaves: list[Any] = field(default_factory=list)
    evidence: dict[str, bytes] = field(default_factory=dict)
    left_out: Row = field(default_factory=dict)
    checkpoint: bytes | None = None
    checkpoints: list[Any] = field(default_factory=list)

    @property
    def job(self) -> UUID:
        return UUID(self.manifest["job"])

    def rows(self, table: str) -> list[Row]:
        """The rows of a table with their ids, in the order of their ids."""
        return [line.row for line in self.facts.get(table, ())]


def read_parts(manifest: Row, members: Mapping[str, bytes]) -> tuple[BundleParts, list[Remark]]:
    parts, remarks = BundleParts(manifest), list[Remark]()
    for name, raw in members.items():
        try:
            known = _read_member(parts, name, raw, members)
        except MALFORMED as error:
            remarks.append(mismatch(Step.CONTAINER, "member_malformed", name, f"It cannot be read: {error}."))
            continue
        if not known:
            remarks.append(mismatch(Step.CONTAINER, "member_unknown", name, "Version 1 has no such member."))
    parts.entries.sort(key=lambda entry: entry.position)
    missing = [name for name in bundle.REQUIRED if name not in members]
    remarks += [mismatch(Step.CONTAINER, "member_missing", name, "Every bundle has it.") for name in missing]
    if bundle.RECORD in members:
        what = "Nobody signed it, and it is not checked here: `python -m jobs.printed_record` draws it again (--check)."
        remarks.append(note(Step.CONTAINER, "record_not_checked", bundle.RECORD, what))
    return parts, remarks


def _read_member(parts: BundleParts, name: str, raw: bytes, members: Mapping[str, bytes]) -> bool:
    """Whether the format has a member of this name; reads it into `parts`."""
    if name in _PLAIN:
        _PLAIN[name](parts, raw)
        return True
    if found := bundle.ENTRY_NAME.fullmatch(name):
        if found[2] == "jws":
            receipt = members.get(f"entries/{found[1]}.json")
            parts.entries.append(SentEntry(name, int(found[1]), raw, receipt))
        return found[2] == "jws" or f"entries/{found[1]}.jws" in members
    if found := bundle.PROCEDURE_NAME.fullmatch(name):
        parts.procedures[found[1]] = raw
        return True
    if found := bundle.EVIDENCE_NAME.fullmatch(name):
        parts.evidence[found[1]] = raw
        return True
    if found := bundle.FACTS_NAME.fullmatch(name):
        parts.facts[found[1]] = [_line(name, found[1], line) for line in raw.splitlines()]
        return True
    return False


def _line(name: str, table: str, raw: bytes) -> FactLine:
    document = orjson.loads(raw)
    if document["table"] != table or document.keys() != _OF_A_LINE:
        raise ValueError("a line is of another table")
    identifier, columns = document["id"], document["columns"]
    if _ID.fullmatch(identifier) is None:
        raise ValueError("a line's id is no UUID in lower case")
    return FactLine(name, table, raw, identifier, columns, {"id": identifier, **columns})


def _object(raw: bytes) -> dict[str, Any]:
    found = orjson.loads(raw)
    if not isinstance(found, dict):
        raise TypeError("it is no object")
    return found


def _list(raw: bytes) -> list[Any]:
    found = orjson.loads(raw)
    if not isinstance(found, list):
        raise TypeError("it is no list")
    return found


def _set(name: str, read: Callable[[bytes], Any]) -> Callable[[BundleParts, bytes], None]:
    return lambda parts, raw: setattr(parts, name, read(raw))


_PLAIN: Final[Mapping[str, Callable[[BundleParts, bytes], None]]] = {
    bundle.OPENING: _set("opening", bytes),
    bundle.REGISTER: _set("register", _object),
    bundle.CLAIMS: _set("claims", _object),
    bundle.DEVICES: _set("devices", _object),
    bundle.LEAVES: _set("leaves", _list),
    bundle.CHECKPOINT: _set("checkpoint", bytes),
    bundle.CHECKPOINTS: _set("checkpoints", _list),
    bundle.LEFT_OUT: _set("left_out", _object),
    bundle.CAUTIONS: lambda _parts, _raw: None,
    bundle.RECORD: lambda _parts, _raw: None,
}
