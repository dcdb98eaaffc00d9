"""R303 · A reading too near its limit to prove anything waits for a lead or for a better gauge.

Example: 0.187 in with U = 0.0102 in, against at least 0.180 in.
"""

from collections.abc import Iterator

from inspections.domain.judging import Verdict
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    303,
    "conditional",
    "A reading too near its limit to prove anything waits for a lead or for a better gauge.",
    Response.HOLD,
)


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    if reading.judgement.verdict is Verdict.CONDITIONAL:
        yield RULE.found(
            reading.judgement.explanation,
            "Measure with a gauge of smaller uncertainty, correct it, or let a lead accept it with a reason.",
        )
