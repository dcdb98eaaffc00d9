"""R507 · A kit is complete: it was received with every line of the procedure's list, and every line is found in it.

Example: a kit with eighteen of its nineteen lines is not issued with credit.
"""

from collections.abc import Collection

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody, StepBody
from jobs.domain.facts import KitFacts
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.kit_issued import issue_of, kit_in_coupling, kit_issued_by
from jobs.domain.procedure import Procedure

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
    missing = _missing(bench.procedure, kit, body.kit.lines)
    if not missing:
        return None
    return RULE.found(f"Kit {kit.serial} lacks {', '.join(missing)}.", "Complete it, or take another kit.")


def lacks_lines_of(bench: Bench, target: Procedure) -> bool:
    """Whether the kit in the coupling, complete for the job's own revision, is not for another one."""
    issued = kit_in_coupling(bench)
    kit = bench.facts.kits.get(issued.serial) if issued is not None else None
    if issued is None or kit is None:
        return False
    body = bench.entries[issued.entry].body
    said = body.body if isinstance(body, AmendmentBody) else body
    named = said.kit.lines if isinstance(said, StepBody) and said.kit is not None else ()
    return bool(_missing(target, kit, named))


def _missing(procedure: Procedure, kit: KitFacts, named: Collection[str]) -> list[str]:
    found = kit.lines & set(named) if named else kit.lines
    return sorted(set(procedure.kit_lines) - found)
