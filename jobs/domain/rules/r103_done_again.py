"""R103 · A step that has credit is done again only as rework, with a reason.

Example: a second “clean” without a reason is stored without credit; the first one stands.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import EntryKind
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    103,
    "done_again_without_reason",
    "A step that has credit is done again only as rework, with a reason.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    if act.kind is not EntryKind.STEP or act.redo_allowed or act.step is None:
        return None
    if act.step.key not in bench.performed:
        return None
    return RULE.found(
        f"“{act.step.title}” already has credit.",
        "If it really was done again, log it as rework and give the reason.",
    )
