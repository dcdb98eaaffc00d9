"""R507 · A kit is complete: it was received with every line of the procedure's list, and every line is found in it.

Example: a kit with eighteen of its nineteen lines is not issued with credit.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.kit_issued import issue_of, kit_issued_by

RULE = Rule(
    507,
    "kit_incomplete",
    "A kit is complete: it was received with every line of the procedure's list, and every line is found in it.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, kit = issue_of(act), kit_issued_by(bench, act)
    if body is None or body.kit is None or kit is None:
        return None
    found = kit.lines & set(body.kit.lines) if body.kit.lines else kit.lines
    missing = sorted(set(bench.procedure.kit_lines) - found)
    if not missing:
        return None
    return RULE.found(f"Kit {kit.serial} lacks {', '.join(missing)}.", "Complete it, or take another kit.")
