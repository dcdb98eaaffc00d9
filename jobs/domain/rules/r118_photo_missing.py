"""R118 · A step that asks for photos names their digests.

Example: the heap of destroyed pieces is photographed, so that none of them comes back.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(118, "photo_missing", "A step that asks for photos names their digests.", Response.FLAG)


def check(_bench: Bench, act: Act) -> Finding | None:
    step, body = act.step, act.body
    if step is None or not step.photos or not isinstance(body, StepBody) or body.not_applicable:
        return None
    named = len(act.entry.signed.evidence)
    if named >= step.photos:
        return None
    return RULE.found(
        f"“{step.title}” asks for {step.photos} photo{'s' if step.photos > 1 else ''}; {named} are named.",
        "Take them, and name their digests in an amendment.",
    )
