"""R118 · A step that asks for photos names their digests.

Whoever names too few gets no credit taken, and no release: the gate waits until an amendment names them.

Example: the heap of destroyed pieces is photographed, so that none of them comes back.
"""

from typing import Final

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.evidence_named import naming_entry
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Step

CURE: Final = "Take them, name their digests in an amendment, and let the phone send them."
RULE = Rule(118, "photo_missing", "A step that asks for photos names their digests.", Response.FLAG)


def check(bench: Bench, act: Act) -> Finding | None:
    step, body = act.step, act.body
    if step is None or not step.photos or not isinstance(body, StepBody) or body.not_applicable:
        return None
    named = len(set(naming_entry(bench, act.entry).signed.evidence))
    return RULE.found(too_few(step, named), CURE) if named < step.photos else None


def too_few(step: Step, named: int) -> str:
    """What the entry's flag says, and the gate."""
    asked = f"{step.photos} photo{'s' if step.photos > 1 else ''}"
    said = {0: "none is named", 1: "1 is named"}.get(named, f"{named} are named")
    return f"“{step.title}” asks for {asked}; {said}."
