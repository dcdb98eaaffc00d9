"""R602 · An adjustment says what was done: turns back from contact, or the shims that went in.

Example: “back 1 1/4 turns”. No count typed by hand can be checked; the verification that follows is the check.
"""

from inspections.domain.quantities import QuantityError, parse_quantity
from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    602,
    "adjustment_not_as_told",
    "An adjustment says what was done: turns back from contact, or the shims that went in.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or step.adjustment is None:
        return None
    wanted, work = step.adjustment, body.adjustment
    if wanted.method == "shims":
        return None if work is not None else RULE.found("No shims are recorded.", "Log the shims that went in.")
    if work is None or work.turns_back is None:
        return RULE.found("The turns back from contact are not recorded.", "Log the turns that you really made.")
    try:
        turns = parse_quantity(work.turns_back.text, work.turns_back.unit).to("turn")
    except QuantityError as error:
        return RULE.found(f"Turns back: {error.message}", error.cure)
    if wanted.turns_back is not None and turns != wanted.turns_back:
        return RULE.found(
            f"{work.turns_back.text} turns back; the procedure says {wanted.turns_back}.",
            "Adjust as the procedure says, and log it.",
        )
    return None
