"""R310 · A grid, a bore or a set of repeats that is not whole is not judged.

Example: fourteen of fifteen heights of the plate; two of three readings of the gap.
"""

from collections.abc import Iterator

from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    310,
    "reading_incomplete",
    "A grid, a bore or a set of repeats that is not whole is not judged.",
    Response.NO_CREDIT,
)
CODES = frozenset({"grid_incomplete", "bore_incomplete", "repeats_missing"})


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    for problem in reading.judgement.problems:
        if problem.code in CODES:
            yield RULE.found(f"{reading.spec.characteristic.title}: {problem.message}", problem.cure)
