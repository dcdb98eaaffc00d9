"""R508 · Nothing of the kit is left over: a part on the bench is a part that is not in the coupling.

Example: a handle cotter that lies there after “Cam and handle” was not fitted.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    508,
    "kit_left_over",
    "Nothing of the kit is left over: a part on the bench is a part that is not in the coupling.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    body = act.body
    if not isinstance(body, StepBody) or body.kit is None or not body.kit.left_over:
        return None
    what = f"Left over after “{act.title}”: {', '.join(body.kit.left_over)}."
    return RULE.found(what, "Find where it belongs, fit it, and log the step again with what was done.")
