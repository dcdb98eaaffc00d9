"""R504 · A kit that was recalled when it was issued earns nothing.

Example: lot LT-26-009 was recalled at nine; a kit of it that is opened at ten goes back to parts.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.kit_issued import kit_issued_by

RULE = Rule(504, "kit_recalled", "A kit that was recalled when it was issued earns nothing.", Response.NO_CREDIT)


def check(bench: Bench, act: Act) -> Finding | None:
    kit = kit_issued_by(bench, act)
    recall = kit.recalled_by(act.at) if kit is not None else None
    if kit is None or recall is None:
        return None
    what = f"Kit {kit.serial} of lot {kit.lot} was recalled: {recall.reason}"
    return RULE.found(what, "Give it back to parts and take another kit.")
