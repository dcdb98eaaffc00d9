"""R603 · A fastener that was tightened before its time is loosened before it counts as tightened.

Example: the cam bolt torqued while the handle is still off is loosened, logged as rework with a count of 0.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    603,
    "tightened_early",
    "A fastener that was tightened before its time is loosened before it counts as tightened.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or not body.fasteners or body.loosens:
        return None
    cure = "Loosen it and log that as rework with a count of 0; tighten it when its turn comes."
    missing = [key for key in step.after if key not in bench.credited]
    if missing:
        return RULE.found(f"“{step.title}” came before its time: tightened early.", cure)
    if step.key in bench.tight_early:
        return RULE.found(f"“{step.title}” was tightened early, and not loosened since.", cure)
    return None
