"""The report of a verification as text: what was checked, what was found, what nobody can know from the bundle."""

from collections.abc import Iterator

from jobs.domain.verification_finding import CANNOT_KNOW, EntryWindow, Kind, Report, Step

_TITLES = {
    Step.CONTAINER: "Container",
    Step.SIGNATURES: "Signatures",
    Step.KEYS: "Keys at the time of the act",
    Step.DEVICE_CHAINS: "Device chains",
    Step.JOB_CHAIN: "Job chain",
    Step.INCLUSION: "Rows and their proofs",
    Step.CHECKPOINTS: "Checkpoints",
    Step.RECOMPUTATION: "Recomputation",
}
_KINDS = {Kind.MISMATCH: "DOES NOT MATCH", Kind.UNCHECKED: "could not be checked", Kind.NOTE: "note"}
_VERDICTS = (
    "Everything that can be checked matches.",
    "Something DOES NOT MATCH.",
    "Nothing contradicts the record, but something could not be checked.",
)


def lines(report: Report) -> Iterator[str]:
    yield f"Job {report.job or 'unknown'}"
    yield ""
    checked = dict(report.checked)
    for step in Step:
        yield f"{step.value}. {_TITLES[step]}: {checked.get(step, 'not reached')}"
        for remark in report.remarks:
            if remark.step is step:
                where = f"{remark.where}: " if remark.where else ""
                yield f"   {_KINDS[remark.kind]} [{remark.code}] {where}{remark.what}"
    if report.windows:
        yield ""
        yield "When the entries were signed, by checkpoints:"
        yield from (f"   {one.where}: {_proved(one)}{one.window.sentence()}" for one in report.windows)
    yield ""
    yield _VERDICTS[report.exit_code]
    yield "What no bundle can show:"
    yield from (f"- {sentence}" for sentence in CANNOT_KNOW)


def _proved(one: EntryWindow) -> str:
    return "proved: " if one.window.is_proved else ""
