"""The report of a verification as text: what was checked, what was found, what nobody can know from the bundle."""

from collections.abc import Iterable, Iterator, Sequence

from jobs.domain.verification_finding import (
    CANNOT_KNOW,
    OF_A_JOB,
    OF_A_LIST,
    EntryWindow,
    Kind,
    Remark,
    Report,
    SelectionReport,
    Step,
)

_TITLES = {
    Step.CONTAINER: "Container",
    Step.SIGNATURES: "Signatures",
    Step.KEYS: "Keys at the time of the act",
    Step.DEVICE_CHAINS: "Device chains",
    Step.JOB_CHAIN: "Job chain",
    Step.INCLUSION: "Rows and their proofs",
    Step.CHECKPOINTS: "Checkpoints",
    Step.RECOMPUTATION: "Recomputation",
    Step.SELECTION: "Selection",
}
_KINDS = {Kind.MISMATCH: "DOES NOT MATCH", Kind.UNCHECKED: "could not be checked", Kind.NOTE: "note"}
_VERDICTS = (
    "Everything that can be checked matches.",
    "Something DOES NOT MATCH.",
    "Nothing contradicts the record, but something could not be checked: it is marked above, with what is missing.",
)


def lines(report: Report | SelectionReport) -> Iterator[str]:
    if isinstance(report, SelectionReport):
        yield from _selection_lines(report)
        return
    yield from _job_lines(report)
    yield ""
    yield _VERDICTS[report.exit_code]
    yield from _cannot_know(CANNOT_KNOW)


def _selection_lines(report: SelectionReport) -> Iterator[str]:
    yield ", ".join(f"{name} {value}" for name, value in report.selection.items() if value and name != "method")
    yield ""
    yield from _steps((Step.CONTAINER, Step.SELECTION), report.checked, report.own)
    for _, inner in report.reports:
        yield ""
        yield from _job_lines(inner)
    yield ""
    yield _VERDICTS[report.exit_code]
    yield from _cannot_know((*CANNOT_KNOW, *OF_A_LIST))


def _job_lines(report: Report) -> Iterator[str]:
    yield f"Job {report.job or 'unknown'}"
    yield ""
    yield from _steps(OF_A_JOB, report.checked, report.remarks)
    yield from _window_lines(report.windows)


def _steps(steps: Iterable[Step], checked: Iterable[tuple[Step, str]], remarks: Sequence[Remark]) -> Iterator[str]:
    counts = dict(checked)
    for step in steps:
        yield f"{step.value}. {_TITLES[step]}: {counts.get(step, 'not reached')}"
        for remark in remarks:
            if remark.step is step:
                where = f"{remark.where}: " if remark.where else ""
                yield f"   {_KINDS[remark.kind]} [{remark.code}] {where}{remark.what}"


def _window_lines(windows: Sequence[EntryWindow]) -> Iterator[str]:
    if windows:
        yield ""
        yield "When the entries were signed, by checkpoints:"
        yield from (f"   {one.where}: {_proved(one)}{one.window.sentence()}" for one in windows)


def _proved(one: EntryWindow) -> str:
    return "proved: " if one.window.is_proved else ""


def _cannot_know(sentences: Iterable[str]) -> Iterator[str]:
    yield "What no bundle can show:"
    yield from (f"- {sentence}" for sentence in sentences)
