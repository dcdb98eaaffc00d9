"""What can be wrong with a procedure document, said so that its author can mend it.

ProcedureError
└── carries one ProcedureProblem for each thing found, never only the first
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class ProcedureProblem:
    """One thing that is wrong: where (JSON pointer and source line), what, and what cures it.

    `line` counts from 1 and is `None` when the document did not come from text. `steps` names the steps
    that are involved, in the order in which the message speaks of them.
    """

    pointer: str
    message: str
    cure: str
    line: int | None = None
    steps: tuple[str, ...] = ()

    def at(self, lines: Mapping[str, int]) -> "ProcedureProblem":
        """The same problem with the line of its pointer, or of the nearest part that has one."""
        pointer = self.pointer
        while pointer not in lines and pointer:
            pointer = pointer.rpartition("/")[0]
        return replace(self, line=self.line or lines.get(pointer))

    def __str__(self) -> str:
        where = f"line {self.line}" if self.line else self.pointer or "/"
        return f"{where}: {self.message} -- {self.cure}"


class ProcedureError(Exception):
    """A document is no publishable procedure; `problems` lists everything that was found."""

    def __init__(self, problems: Iterable[ProcedureProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(str(problem) for problem in self.problems))

    def at(self, lines: Mapping[str, int]) -> "ProcedureError":
        """The same error with source lines, in the order of the text."""
        found = [problem.at(lines) for problem in self.problems]
        return ProcedureError(sorted(found, key=lambda problem: (problem.line or 0, problem.pointer)))
