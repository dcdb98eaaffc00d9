"""R510 · A kit that is quarantined or scrapped is not issued.

Example: a kit whose box was crushed in the yard stays where parts have put it.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.kit_issued import kit_issued_by

RULE = Rule(510, "kit_withdrawn", "A kit that is quarantined or scrapped is not issued.", Response.NO_CREDIT)


def check(bench: Bench, act: Act) -> Finding | None:
    kit = kit_issued_by(bench, act)
    move = kit.last_move(act.at) if kit is not None else None
    if kit is None or move is None or move.kind not in {"quarantined", "scrapped"}:
        return None
    return RULE.found(f"Kit {kit.serial} was {move.kind}.", "Take another kit.")
