"""R311 · Repeats that lie further apart than is believable are taken again.

Example: .218, .221 and .240 of one gap, where 0.010 in between them is the most.
"""

from collections.abc import Iterator

from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    311,
    "repeats_disagree",
    "Repeats that lie further apart than is believable are taken again.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    for problem in reading.judgement.problems:
        if problem.code == RULE.code:
            yield RULE.found(f"{reading.spec.characteristic.title}: {problem.message}", problem.cure)
