"""R604 · Fasteners with a sequence are tightened in it.

Example: twelve base bolts crosswise, 1, 7, 4, 10, …; going round in a circle earns nothing.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(604, "out_of_sequence", "Fasteners with a sequence are tightened in it.", Response.NO_CREDIT)


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or not body.fasteners or body.loosens:
        return None
    done = {work.key: work.order for work in body.fasteners}
    for fastener in step.fasteners:
        order = done.get(fastener.key)
        if fastener.sequence and order and order != fastener.sequence:
            return RULE.found(
                f"{fastener.title} were tightened in another order than {', '.join(fastener.sequence)}.",
                "Loosen them, tighten them in the order of the procedure, and log it as rework.",
            )
    return None
