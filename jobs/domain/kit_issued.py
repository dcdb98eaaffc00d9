"""What the rules of kits ask first: does the act issue a kit, which one, and which one is in the coupling?"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.facts import KitFacts
from jobs.domain.remembered import KitIssued


def issue_of(act: Act) -> StepBody | None:
    """The body of an act at the step that issues the kit; None for any other, and for one not applicable."""
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or not step.issues_kit or body.not_applicable:
        return None
    return body


def kit_issued_by(bench: Bench, act: Act) -> KitFacts | None:
    """The kit on record that the act issues."""
    body = issue_of(act)
    return bench.facts.kits.get(body.kit.serial) if body is not None and body.kit is not None else None


def kit_in_coupling(bench: Bench) -> KitIssued | None:
    """The kit that was issued last with credit."""
    return bench.kits[-1] if bench.kits else None
