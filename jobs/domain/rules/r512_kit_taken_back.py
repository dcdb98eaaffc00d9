"""R512 · A kit that parts took back or put aside after it was issued holds the job until another kit is in.

Or until parts issue it to the job again, or lead and quality decide. What was done keeps its credit. A release that was
signed before does not fall by this rule: what is fitted and released is not taken back into circulation.

Example: K-T2-0412 is issued to unit 4107 in the morning, and parts book it back at noon: which kit is in the coupling?
"""

from datetime import datetime, timedelta
from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.facts import KitMove
from jobs.domain.finding import Response, Rule
from jobs.domain.remembered import KitIssued, OpenHold, Outcome

RULE = Rule(
    512,
    "kit_taken_back",
    "A kit that parts took back or put aside after it was issued holds the job until another kit is in.",
    Response.HOLD,
)
_A_MOMENT = timedelta(milliseconds=1)
"""Within it the record itself takes back a kit that was named by mistake."""


def hold_for_return(bench: Bench, issued: KitIssued, step: str) -> None:
    """Hold the job for a kit that has just been issued with credit and was taken back later."""
    kit = bench.facts.kits[issued.serial]
    job = bench.entries[issued.entry].signed.job
    move = _last_move_here(kit.moves, issued.at + _A_MOMENT, job)
    if move is None or move.kind == "issued":
        return
    finding = RULE.found(
        f"Kit {kit.serial} was {move.kind} by parts after it was issued to the job.",
        "Issue the kit that is in the coupling; or parts issue this one to the job again; or lead and quality clear "
        "the hold with a reason.",
    )
    before = bench.outcomes[issued.entry]
    bench.outcomes[issued.entry] = Outcome(before.credit, (*before.findings, finding))
    bench.hold(OpenHold(issued.entry, finding.what, step, RULE.number, needs=2, since=move.at))


def _last_move_here(moves: tuple[KitMove, ...], after: datetime, job: UUID) -> KitMove | None:
    """The last move after a time that is not into another job: of two jobs, the one that was first has the kit."""
    later = (move for move in reversed(moves) if move.at > after)
    return next((move for move in later if move.kind != "issued" or move.job in {None, job}), None)
