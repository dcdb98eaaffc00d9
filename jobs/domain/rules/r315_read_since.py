"""R315 · An amendment of a reading does not outdo one that was taken after it.

Example: 0.219 in, then 0.156 in; amending the first one to 0.220 in does not answer the second one.
"""

from collections.abc import Iterator

from inspections.domain.judging import Verdict
from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    315,
    "read_since",
    "An amendment of a reading does not outdo one that was taken after it.",
    Response.NO_CREDIT,
)


def check(bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    """A failed one is always heard, whenever it was taken."""
    step, body = reading.act.step, reading.act.entry.body
    if step is None or not isinstance(body, AmendmentBody) or reading.judgement.verdict is Verdict.FAIL:
        return
    at = (step.key, reading.spec.key)
    for governs in (bench.asked.get(at), bench.measured.get(at)):
        if governs is not None and bench.is_later_work(governs.entry, body.amends):
            yield RULE.found(
                f"{reading.spec.characteristic.title} was read again after the reading that is amended.",
                "The later reading stands. If it is wrong, amend that one, or measure again with a reason.",
            )
            return
