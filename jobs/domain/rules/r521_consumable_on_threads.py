"""R521 · A consumable stays off the threads, unless the procedure lubricates a fastener of the step with it.

Paste on a thread lowers its friction: the same torque then stretches the bolt further (the nut factor K in T = K·F·d;
common practice, no source for any single value).

Example: AS-7 from the jaw pin on the thread of its retainer.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    521,
    "consumable_on_threads",
    "A consumable stays off the threads, unless the procedure lubricates a fastener of the step with it.",
    Response.NO_CREDIT,
)
_PASTED = "anti-seize"


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None:
        return None
    if any(fastener.lubrication == _PASTED for fastener in step.fasteners):
        return None
    spread = next((use.key for use in body.consumable_use if use.on_threads), None)
    if spread is None:
        return None
    return RULE.found(f"{spread} came on a thread.", "Clean the thread to bare metal, and log the step as rework.")
