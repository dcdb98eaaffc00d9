"""R104 · “Not applicable” is allowed only where the procedure says so.

Example: nobody can declare the pull test not applicable.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Step

RULE = Rule(
    104,
    "not_applicable_refused",
    "“Not applicable” is allowed only where the procedure says so.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body = act.body
    if not isinstance(body, StepBody) or not body.not_applicable or act.step is None:
        return None
    if act.step.may_be_not_applicable:
        return _failed(bench, act.step)
    return RULE.found(f"“{act.step.title}” is never “not applicable” in this procedure.", "Do the step and log it.")


def _failed(bench: Bench, step: Step) -> Finding | None:
    """What was measured, and failed, applies."""
    failed = [spec.characteristic.title for spec in step.readings if (step.key, spec.key) in bench.asked]
    if not failed:
        return None
    cure = "Correct it as the procedure says, or read it again with a reason."
    return RULE.found(f"{failed[0]} was read, and failed.", cure)
