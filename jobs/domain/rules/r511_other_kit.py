"""R511 · Parts come from the kit that was issued to the job.

Where an entry says from which kit it took its parts, it is that kit.

Example: a yoke from the box of the job beside, because one's own fell on the floor.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.kit_issued import kit_in_coupling

RULE = Rule(511, "other_kit", "Parts come from the kit that was issued to the job.", Response.NO_CREDIT)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step, issued = act.body, act.step, kit_in_coupling(bench)
    if not isinstance(body, StepBody) or step is None or step.issues_kit or body.kit is None:
        return None
    if issued is not None and body.kit.serial == issued.serial:
        return None
    issued_name = f"kit {issued.serial}" if issued is not None else "no kit"
    what = f"“{step.title}” took parts from kit {body.kit.serial}; {issued_name} is issued to the job."
    return RULE.found(what, "Take the parts of the kit that was issued, or issue the other one.")
