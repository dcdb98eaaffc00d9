"""R105 · A step is logged with the kind of entry that it is made of.

Example: a verification step is completed by its cycles, each with its observations, never by one “done”.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CycleBody, ReadingBody, StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    105,
    "wrong_kind_of_entry",
    "A step is logged with the kind of entry that it is made of.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    step = act.step
    if step is None:
        return None
    if step.is_release:
        return RULE.found("The release is a document of its own.", "Send an entry of kind release to /v1/releases.")
    if isinstance(act.body, CycleBody) and step.verification is None:
        return RULE.found(f"“{step.title}” has no verification cycles.", "Send a step or a reading.")
    if isinstance(act.body, StepBody) and step.verification is not None:
        return RULE.found(
            f"“{step.title}” is completed by its cycles, never by one “done”.",
            "Send one verification cycle for each time, with every observation.",
        )
    if isinstance(act.body, StepBody) and not step.needs_performing and not act.body.readings:
        if not act.body.not_applicable:
            return RULE.found(f"“{step.title}” is a measurement; it says nothing without readings.", "Send readings.")
        return None
    if isinstance(act.body, ReadingBody) and not step.readings:
        return RULE.found(f"“{step.title}” asks for no reading.", "Send it as a step.")
    return None
