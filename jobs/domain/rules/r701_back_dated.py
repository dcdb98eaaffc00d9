"""R701 · An act dated before what the same phone signed earlier is shown as back-dated, and placed after it.

Example: entry 41 of a phone says 14:10, its entry 42 says 13:30: 42 is placed at 14:10 and flagged.
"""

from datetime import timedelta

from jobs.domain.act import Act
from jobs.domain.act_order import as_datetime, corrected_time
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    701,
    "back_dated",
    "An act dated before what the same phone signed earlier is shown as back-dated, and placed after it.",
    Response.FLAG,
)
LEAST = timedelta(minutes=1)


def check(bench: Bench, act: Act) -> Finding | None:
    entry = act.entry
    if entry.key not in bench.last_of_device:
        return None
    back = act.placed - as_datetime(corrected_time(entry))
    if back < LEAST:
        return None
    return RULE.found(
        f"The phone had signed an act {back // LEAST} min later than this one's time before it.",
        "Set the phone's clock. A lead asks when it was done.",
    )
