"""R702 · An entry that comes in more than twelve hours after its act is shown as received late.

Example: a verifier's phone that was offline since yesterday afternoon.
"""

from datetime import timedelta

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    702,
    "received_late",
    "An entry that comes in more than twelve hours after its act is shown as received late.",
    Response.FLAG,
)
LATE = timedelta(hours=12)


def check(_bench: Bench, act: Act) -> Finding | None:
    late = act.entry.received_at - act.placed
    if late <= LATE:
        return None
    return RULE.found(
        f"Received {late / timedelta(hours=1):.0f} h after the act.", "Sync phones before the shift ends."
    )
