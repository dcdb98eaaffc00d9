"""Procedure text in, plain document and line numbers out.

The text is YAML 1.2 without its traps: no tags, no anchors, no duplicate keys, and a plain scalar is a whole
number, `true` or `false`, or text. Decimals are quoted text, for a binary float must never decide anything.
Size and depth are bounded before anything is built.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import yaml

from jobs.domain.procedure_errors import ProcedureError, ProcedureProblem

LARGEST = 1_000_000
"""Bytes of UTF-8 that a procedure may have."""

DEEPEST = 20
"""How deep lists and mappings may nest."""

_LOADER: type[yaml.SafeLoader] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # the same, in C, where built

Node = dict[str, "Node"] | list["Node"] | str | int | bool

_WHOLE = re.compile(r"-?(0|[1-9][0-9]{0,14})")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9][0-9_]*\.[0-9_]*)([eE][-+]?[0-9]+)?|[-+]?[0-9]+[eE][-+]?[0-9]+")
_ODD_NUMBER = re.compile(r"[-+]?(0[xob][0-9a-fA-F]+|[0-9][0-9_]*)|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")
_NOTHING = frozenset({"", "~", "null", "Null", "NULL"})


@dataclass(frozen=True, slots=True)
class SourceDocument:
    """A parsed text: JSON-able values, and for every JSON pointer (RFC 6901) the line it begins on."""

    document: dict[str, Node]
    lines: dict[str, int]


def read_yaml(text: str) -> SourceDocument:
    """Parse one YAML document whose top level is a mapping; raise `ProcedureError` with all problems."""
    _check_text(text)
    try:
        return _document(_Reader(yaml.parse(text, Loader=_LOADER)))
    except yaml.YAMLError as error:
        raise ProcedureError([_not_yaml(error)]) from error


def _check_text(text: str) -> None:
    try:
        size = len(text.encode())
    except UnicodeEncodeError:
        raise ProcedureError([_problem("", 1, "The text holds half a character.", "Save it as UTF-8.")]) from None
    if size > LARGEST:
        raise ProcedureError([_problem("", 1, "The text is larger than 1 MB.", "Split it, or cut it down.")])


def pointer_to(*parts: str | int) -> str:
    """The JSON pointer of a path (RFC 6901, 3 and 4)."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)


def _document(reader: "_Reader") -> SourceDocument:
    found = reader.read()
    if not reader.problems and not isinstance(found, dict):
        reader.refuse("", 1, "The top level is not a mapping.", "Begin with `procedure: CODE`.")
    if reader.problems or not isinstance(found, dict):
        raise ProcedureError(reader.problems)
    return SourceDocument(found, reader.lines)


def _not_yaml(error: yaml.YAMLError) -> ProcedureProblem:
    mark = getattr(error, "problem_mark", None)
    what = getattr(error, "problem", None) or getattr(error, "reason", None) or "cannot be read"
    line = mark.line + 1 if mark else 1
    return _problem("", line, f"The text is not YAML: {what}.", "Look at this line and the one before it.")


def _problem(pointer: str, line: int, message: str, cure: str) -> ProcedureProblem:
    return ProcedureProblem(pointer=pointer, message=message, cure=cure, line=line)


def _line(event: yaml.Event) -> int:
    return event.start_mark.line + 1 if event.start_mark else 1


@dataclass(slots=True)
class _Reader:
    """Builds values straight from parser events; collects problems instead of stopping at the first."""

    events: Iterator[yaml.Event]
    lines: dict[str, int] = field(default_factory=dict)
    problems: list[ProcedureProblem] = field(default_factory=list)

    def refuse(self, pointer: str, line: int, message: str, cure: str) -> None:
        self.problems.append(_problem(pointer, line, message, cure))

    def read(self) -> Node:
        found: Node = ""
        documents = 0
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self.refuse("", _line(event), "A second document begins here.", "Keep one procedure in a file.")
                    break
                found = self.value(next(self.events), "", 0)
        return found

    def value(self, event: yaml.Event, pointer: str, depth: int) -> Node:
        line = _line(event)
        self.lines.setdefault(pointer, line)
        self.check_plain(event, pointer, line)
        if depth > DEEPEST:
            problem = _problem(pointer, line, f"Nested deeper than {DEEPEST} levels.", "Flatten it.")
            raise ProcedureError([*self.problems, problem])
        if isinstance(event, yaml.MappingStartEvent):
            return self.mapping(pointer, depth)
        if isinstance(event, yaml.SequenceStartEvent):
            return self.sequence(pointer, depth)
        return self.scalar(event, pointer, line) if isinstance(event, yaml.ScalarEvent) else ""

    def check_plain(self, event: yaml.Event, pointer: str, line: int) -> None:
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            self.refuse(pointer, line, "Anchors and aliases are not read.", "Write the value out.")
        tag = getattr(event, "tag", None)
        if tag:
            self.refuse(pointer, line, f"The tag {tag} is not read.", "Leave it out.")

    def mapping(self, pointer: str, depth: int) -> dict[str, Node]:
        found: dict[str, Node] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            key, line = self.key(event, pointer), _line(event)
            inner = pointer + pointer_to(key)
            self.lines.setdefault(inner, line)
            value = self.value(next(self.events), inner, depth + 1)
            if key in found:
                self.refuse(inner, line, f"`{key}` is written twice.", "Keep one of the two.")
            found[key] = value
        return found

    def key(self, event: yaml.Event, pointer: str) -> str:
        line = _line(event)
        self.check_plain(event, pointer, line)
        if not isinstance(event, yaml.ScalarEvent):
            problem = _problem(pointer, line, "A key is not a plain word.", "Quote it.")
            raise ProcedureError([*self.problems, problem])
        return str(event.value)

    def sequence(self, pointer: str, depth: int) -> list[Node]:
        found: list[Node] = []
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            found.append(self.value(event, pointer + pointer_to(len(found)), depth + 1))
        return found

    def scalar(self, event: yaml.ScalarEvent, pointer: str, line: int) -> Node:
        text = str(event.value)
        if event.style:  # quoted, or a block of text
            return text
        if text in {"true", "false"}:
            return text == "true"
        if _WHOLE.fullmatch(text):
            return int(text)
        return self.plain_text(text, pointer, line)

    def plain_text(self, text: str, pointer: str, line: int) -> str:
        if _FLOAT.fullmatch(text):
            message = f"{text} is a bare decimal, and those are read differently by different machines."
            self.refuse(pointer, line, message, f'Quote it: "{text}".')
        elif _ODD_NUMBER.fullmatch(text):
            self.refuse(pointer, line, f"{text} is an ambiguous number.", f'Quote it: "{text}".')
        elif text in _NOTHING:
            self.refuse(pointer, line, "There is no value here.", "Give a value, or leave the key out.")
        return text
