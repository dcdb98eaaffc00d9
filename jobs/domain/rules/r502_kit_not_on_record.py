"""R502 · The step that issues the kit names one that is on record.

Example: a serial that parts never received is a misread label, or a kit from elsewhere.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.kit_issued import issue_of

RULE = Rule(502, "kit_not_on_record", "The step that issues the kit names one that is on record.", Response.NO_CREDIT)


def check(bench: Bench, act: Act) -> Finding | None:
    step, body = act.step, issue_of(act)
    if step is None or body is None:
        return None
    if body.kit is None:
        return RULE.found(f"“{step.title}” names no kit.", "Scan the kit's serial and log it.")
    if body.kit.serial not in bench.facts.kits:
        return RULE.found(f"Kit {body.kit.serial} is not on record.", "Let parts receive it, or take another kit.")
    return None
