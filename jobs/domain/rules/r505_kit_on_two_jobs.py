"""R505 · A kit goes into one job.

Example: K-T2-0412 was issued to unit 4107 in the morning; in the afternoon it cannot be issued to 4112, unless parts
took it back in between. Of two jobs that name it, the one that did so first has it, whatever arrives first.
"""

from datetime import datetime
from uuid import UUID

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.facts import KitFacts, KitMove
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.kit_issued import kit_issued_by

RULE = Rule(505, "kit_on_two_jobs", "A kit goes into one job.", Response.NO_CREDIT)


def check(bench: Bench, act: Act) -> Finding | None:
    kit = kit_issued_by(bench, act)
    job = act.entry.signed.job
    move = _move_before(kit, act.at, job) if kit is not None else None
    if kit is None or move is None or move.kind != "issued" or move.job in {None, job}:
        return None
    return RULE.found(f"Kit {kit.serial} was issued to another job.", "Take another kit; tell parts where this one is.")


def _move_before(kit: KitFacts, at: datetime, job: UUID) -> KitMove | None:
    """The last move by then, without the one that the act itself is."""
    moves = (move for move in reversed(kit.moves) if move.at <= at)
    return next((move for move in moves if move.at < at or move.job != job), None)
