"""R502 · A kit is a registered one for this coupling, complete, and issued to no other job.

Example: a kit with eighteen of its nineteen lines is not issued with credit.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    502,
    "kit_not_good",
    "A kit is a registered one for this coupling, complete, and issued to no other job.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or not step.issues_kit or body.not_applicable:
        return None
    if body.kit is None:
        return RULE.found(f"“{step.title}” names no kit.", "Scan the kit's serial and log it.")
    kit = bench.facts.kits.get(body.kit.serial)
    if kit is None:
        return RULE.found(f"Kit {body.kit.serial} is not on record.", "Let parts receive it, or take another kit.")
    if kit.coupling != bench.procedure.coupling:
        return RULE.found(
            f"Kit {kit.serial} is for {kit.coupling}, not for {bench.procedure.coupling}.",
            "Take a kit for this coupling.",
        )
    if kit.last_movement in {"quarantined", "scrapped"}:
        return RULE.found(f"Kit {kit.serial} is {kit.last_movement}.", "Take another kit.")
    if kit.issued_to is not None and kit.issued_to != act.entry.signed.job:
        return RULE.found(f"Kit {kit.serial} is issued to another job.", "Take another kit.")
    missing = sorted(set(bench.procedure.kit_lines) - kit.lines)
    if missing:
        return RULE.found(f"Kit {kit.serial} lacks {', '.join(missing)}.", "Complete it, or take another kit.")
    return None
