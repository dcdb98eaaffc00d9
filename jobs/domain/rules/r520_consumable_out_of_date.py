"""R520 · A consumable is used by the day printed on it, as the shop's clock shows the day.

Example: AS-7 to be used by 2026-02-28 earns nothing on 2 March.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    520,
    "consumable_out_of_date",
    "A consumable is used by the day printed on it, as the shop's clock shows the day.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    if not isinstance(act.body, StepBody):
        return None
    for use in act.body.consumable_use:
        if use.use_by is not None and use.use_by.isoformat() < act.day:
            what = f"{use.key} was to be used by {use.use_by}; the day is {act.day}."
            return RULE.found(what, "Clean it off, use fresh material, and log it as rework.")
    return None
