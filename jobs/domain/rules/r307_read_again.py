"""R307 · A failed reading is not read again until it passes: between two readings there is a correction or a reason.

Example: 0.156 in, and a minute later 0.181 in with nothing done.
"""

from collections.abc import Iterator

from inspections.domain.judging import Verdict
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    307,
    "read_again_without_reason",
    "A failed reading is not read again until it passes: between two readings there is a correction or a reason.",
    Response.NO_CREDIT,
)


def twice(title: str) -> Finding:
    """A characteristic that one entry reads twice: what failed first is not outdone in the same breath."""
    return RULE.found(
        f"{title} stands twice in one entry.",
        "Give every reading an entry of its own, with a reason; repeats go into the values of one reading.",
    )


_BETTER = frozenset({Verdict.PASS, Verdict.CONDITIONAL})


def check(bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    step = reading.act.step
    if step is None or reading.reason or reading.act.redo_allowed:
        return
    if (step.key, reading.spec.key) not in bench.asked or reading.judgement.verdict not in _BETTER:
        return
    yield RULE.found(
        f"{reading.spec.characteristic.title} failed before, and nothing was corrected since.",
        "Correct it as the procedure says, or give the reason why the first reading was wrong.",
    )
