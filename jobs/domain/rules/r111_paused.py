"""R111 · While a job is paused nothing earns credit until somebody resumes it or takes it over.

Example: the state note of a pause is read and the job resumed before the next step.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    111,
    "job_is_paused",
    "While a job is paused nothing earns credit until somebody resumes it or takes it over.",
    Response.NO_CREDIT,
)


def check(bench: Bench, _act: Act) -> Finding | None:
    if bench.paused_by is None:
        return None
    return RULE.found("The job is paused.", "Read the state note and log a resume, then do the step again.")
