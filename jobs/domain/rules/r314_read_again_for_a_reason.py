"""R314 · A failed reading that was read again for a reason, without a correction, is shown to whoever decides.

Example: 0.156 in, then 0.219 in with “burr taken off the feeler”: it counts, and the lead sees both.
"""

from collections.abc import Iterator

from inspections.domain.judging import Verdict
from jobs.domain.bench import Bench
from jobs.domain.entry import EntryKind
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    314,
    "read_again_for_a_reason",
    "A failed reading that was read again for a reason, without a correction, is shown to whoever decides.",
    Response.FLAG,
)
_BETTER = frozenset({Verdict.PASS, Verdict.CONDITIONAL})


def check(bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    step, kind = reading.act.step, reading.act.entry.kind
    if step is None or reading.judgement.verdict not in _BETTER or kind is EntryKind.AMENDMENT:
        return
    before = bench.asked.get((step.key, reading.spec.key))
    if before is None or not reading.reason or (kind is EntryKind.REWORK and step.needs_performing):
        return
    yield RULE.found(
        f"{reading.spec.characteristic.title} failed before and was read again: {reading.reason}",
        "A lead looks at both readings before the release.",
    )
