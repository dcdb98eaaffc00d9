"""R301 · What cannot be read, or cannot be believed in its unit, is asked about and not judged.

Example: “5.6 in”: did you mean 5.6 mm, which is 0.220 in?
"""

from collections.abc import Iterator

from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    301,
    "reading_not_judged",
    "What cannot be read, or cannot be believed in its unit, is asked about and not judged.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    for problem in reading.judgement.problems:
        yield RULE.found(f"{reading.spec.characteristic.title}: {problem.message}", problem.cure)
