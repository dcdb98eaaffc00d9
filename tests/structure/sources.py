"""The project's own Python files, read once."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("config", "jobs", "inspections", "shops", "tests")
APPS = ("jobs", "inspections", "shops")


@dataclass(frozen=True)
class Source:
    """A file, its path from the root, its text and its syntax tree."""

    path: str
    text: str
    tree: ast.Module

    @property
    def name(self) -> str:
        return Path(self.path).stem


@cache
def sources() -> tuple[Source, ...]:
    found = (path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py")))
    return tuple(Source(str(path.relative_to(ROOT)), text := path.read_text(), ast.parse(text)) for path in found)


def inside(*rooms: str) -> list[Source]:
    """The files of these rooms of every app, such as `domain`; not the empty `__init__.py`."""
    starts = tuple(f"{app}/{room}/" for app in APPS for room in rooms)
    return [source for source in sources() if source.path.startswith(starts) and source.name != "__init__"]


def functions(source: Source) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (node for node in ast.walk(source.tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))
