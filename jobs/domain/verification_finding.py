"""What a verification finds and how it is told: step, kind, name, place, sentence; and the exit code.

"Does not match" and "could not be checked" are different answers: the first is an alarm, the second a question. A note
is neither: what the record tells of itself, or what is of another bundle. It changes no exit code.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum, StrEnum
from typing import Any, Final

from jobs.domain.time_window import TimeWindow


class Step(IntEnum):
    """The steps of a verification, in their order."""

    CONTAINER = 1
    SIGNATURES = 2
    KEYS = 3
    DEVICE_CHAINS = 4
    JOB_CHAIN = 5
    INCLUSION = 6
    CHECKPOINTS = 7
    RECOMPUTATION = 8
    SELECTION = 9


OF_A_JOB: Final = tuple(Step)[:-1]
"""The steps of one job's bundle; the last is of several in one file."""


class Kind(StrEnum):
    MISMATCH = "does_not_match"
    UNCHECKED = "could_not_be_checked"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Remark:
    """One finding: in which step, of which kind, its stable name, the member or entry, and what is the matter."""

    step: Step
    kind: Kind
    code: str
    where: str
    what: str

    def document(self) -> dict[str, Any]:
        return {
            "step": int(self.step),
            "kind": self.kind.value,
            "code": self.code,
            "where": self.where,
            "what": self.what,
        }


def mismatch(step: Step, code: str, where: str, what: str) -> Remark:
    return Remark(step, Kind.MISMATCH, code, where, what)


def unchecked(step: Step, code: str, where: str, what: str) -> Remark:
    return Remark(step, Kind.UNCHECKED, code, where, what)


def note(step: Step, code: str, where: str, what: str) -> Remark:
    return Remark(step, Kind.NOTE, code, where, what)


@dataclass(frozen=True, slots=True)
class EntryWindow:
    """An entry and its window; `where` is its member."""

    where: str
    entry: str
    window: TimeWindow

    def document(self) -> dict[str, Any]:
        return {"where": self.where, "entry": self.entry, **self.window.document()}


CANNOT_KNOW: Final = (
    "Whether what was signed is true: a false reading, honestly signed, verifies.",
    "Whether somebody else used a phone, or two people shared one.",
    "What was never sent or is of no row here: entries on a phone, facts that nobody recorded, rows left out.",
    "Who stands behind the initials; what the register says of instruments and of other jobs: it is not in the log.",
    "Whether the clock of the server was right, beyond what checkpoints kept outside and witnesses show.",
)


def exit_code_of(remarks: Iterable[Remark]) -> int:
    """0: all of it matches; 1: something does not match; 2: something could not be checked."""
    kinds = {remark.kind for remark in remarks}
    return 1 if Kind.MISMATCH in kinds else 2 if Kind.UNCHECKED in kinds else 0


VERDICTS: Final = ("matches", "does_not_match", "could_not_be_checked")
"""By exit code."""


@dataclass(frozen=True, slots=True)
class Report:
    """All that was found. `checked` counts what each step looked at; `windows` say when each entry was signed."""

    job: str | None
    checked: tuple[tuple[Step, str], ...]
    remarks: Sequence[Remark]
    windows: Sequence[EntryWindow] = ()

    @property
    def exit_code(self) -> int:
        return exit_code_of(self.remarks)

    def document(self) -> dict[str, Any]:
        return {
            "job": self.job,
            "verdict": VERDICTS[self.exit_code],
            "checked": [{"step": int(step), "what": what} for step, what in self.checked],
            "findings": [remark.document() for remark in self.remarks],
            "windows": [window.document() for window in self.windows],
            "cannot_know": list(CANNOT_KNOW),
        }


OF_A_LIST: Final = (
    "Whether the population is whole, beyond what was compared: a job may have been left out of every list of it.",
    "A job in which nobody logged anything: the log has no row of it.",
)


@dataclass(frozen=True, slots=True)
class SelectionReport:
    """Of several bundles in one file: what was found of the file (`own`), and the report of each by its job."""

    selection: Mapping[str, Any]
    checked: tuple[tuple[Step, str], ...]
    own: Sequence[Remark]
    reports: tuple[tuple[str, Report], ...]

    @property
    def remarks(self) -> Sequence[Remark]:
        """All of them; those of a bundle say in which."""
        inner = [
            replace(remark, where=f"jobs/{job}.zip {remark.where}".strip())
            for job, report in self.reports
            for remark in report.remarks
        ]
        return [*self.own, *inner]

    @property
    def exit_code(self) -> int:
        return exit_code_of(self.remarks)

    def document(self) -> dict[str, Any]:
        return {
            "selection": dict(self.selection),
            "verdict": VERDICTS[self.exit_code],
            "checked": [{"step": int(step), "what": what} for step, what in self.checked],
            "findings": [remark.document() for remark in self.own],
            "bundles": [report.document() for _, report in self.reports],
            "cannot_know": [*CANNOT_KNOW, *OF_A_LIST],
        }
