"""R112 · A clearing names a hold that is open, and is not by the person whose work is held.

Example: a technician cannot accept his own conditional reading.
"""

from uuid import UUID

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import ClearBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    112,
    "clears_nothing",
    "A clearing names a hold that is open, and is not by the person whose work is held.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    if not isinstance(act.body, ClearBody):
        return None
    if act.body.hold == bench.condemned_by:
        return _own(bench, act, act.body.hold)
    hold = bench.holds.get(act.body.hold)
    if hold is None:
        return RULE.found("No open hold has this id.", "Name the entry that holds the job, as its gate lists it.")
    if act.person in hold.cleared_by:
        return RULE.found(f"{act.initials} has cleared it already.", "It takes two people: lead and quality.")
    return None if hold.rule is None else _own(bench, act, hold.entry)


def _own(bench: Bench, act: Act, held: UUID) -> Finding | None:
    if bench.entries[held].technician != act.person:
        return None
    return RULE.found(f"{act.initials} did the work that is held.", "A second person decides about it.")
