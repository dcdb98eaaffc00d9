"""R102 · A part cannot be fitted any more once the part that walls it in is fitted.

Example: the yoke enters from the throat; once the right jaw is in, it cannot.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    102,
    "walled_in",
    "A part cannot be fitted any more once the part that walls it in is fitted.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    step = act.step
    if step is None or not step.walled_in_by or (isinstance(act.body, StepBody) and act.body.only_loosens):
        return None
    walls = [key for key in step.walled_in_by if key in bench.credited]
    if not walls:
        return None
    names = ", ".join(f"“{bench.procedure.by_key[key].title}”" for key in walls)
    return RULE.found(
        f"“{step.title}” cannot be done any more: {names} is in the way.",
        f"Take it out again, then log “{step.title}”, and {names} after it.",
    )
