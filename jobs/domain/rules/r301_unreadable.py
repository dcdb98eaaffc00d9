"""R301 · What cannot be read, or cannot be believed in its unit, is asked about and not judged.

Example: “5.6 in”: did you mean 5.6 mm, which is 0.220 in?
"""

from collections.abc import Iterator

from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct
from jobs.domain.rules import r310_incomplete, r311_repeats_disagree

RULE = Rule(
    301,
    "reading_not_judged",
    "What cannot be read, or cannot be believed in its unit, is asked about and not judged.",
    Response.NO_CREDIT,
)

_ELSEWHERE = r310_incomplete.CODES | {r311_repeats_disagree.RULE.code}


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    for problem in reading.judgement.problems:
        if problem.code in _ELSEWHERE:
            continue
        yield RULE.found(f"{reading.spec.characteristic.title}: {problem.message}", problem.cure)
