"""R112 · A clearing names a hold that is open, and is not by the person whose work is held.

Example: a technician cannot accept his own conditional reading.
"""

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
    hold = bench.holds.get(act.body.hold)
    if hold is None:
        return RULE.found(
            "No open hold has this id.", "Name the entry that holds the job, as its gate lists it."
        )
    if hold.rule is not None and bench.entries[hold.entry].technician == act.person:
        return RULE.found(f"{act.initials} did the work that is held.", "A second person decides about it.")
    return None
