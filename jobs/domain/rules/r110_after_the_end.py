"""R110 · After a release or a condemnation nothing more earns credit on the job.

Example: a grind logged the day after the release is kept, earns nothing, and is a reason to look again.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    110,
    "after_the_end",
    "After a release or a condemnation nothing more earns credit on the job.",
    Response.NO_CREDIT,
)


def check(bench: Bench, _act: Act) -> Finding | None:
    if bench.released_by is not None:
        return RULE.found("The job was released before this was done.", "Open a new job on the unit.")
    if bench.concurred_by is not None:
        return RULE.found("The casting was condemned before this was done.", "Take another top plate.")
    return None
