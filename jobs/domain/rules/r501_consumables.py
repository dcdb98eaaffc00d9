"""R501 · A step that uses a consumable names it, and it is on the procedure's list; there is no substitute.

Example: jaw pins take anti-seize AS-7 and nothing else.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    501,
    "consumable_not_allowed",
    "A step that uses a consumable names it, and it is on the procedure's list; there is no substitute.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or body.not_applicable:
        return None
    used = body.consumables or {}
    for consumable in step.consumables:
        allowed = " or ".join(consumable.allowed)
        name = used.get(consumable.key)
        if name is None:
            return RULE.found(f"“{step.title}” uses {consumable.key}; none is named.", f"Use {allowed} and name it.")
        if name not in consumable.allowed:
            return RULE.found(
                f"{name} is not allowed for {consumable.key}.",
                f"Clean it off, use {allowed}, and log it as rework.",
            )
    extra = [key for key in used if key not in {c.key for c in step.consumables}]
    if extra:
        return RULE.found(f"“{step.title}” uses no {extra[0]}.", "Clean it off and do the step without it.")
    return None
