"""R710 · What was done before an incident and came in after it is shown as received after the incident.

Example: on unit 4133 a trailer came off at 22:10Z; two entries of the week before are synced at 23:40Z. They are kept
and count as they count; whoever investigates sees that nobody but their phone could know of them before.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    710,
    "received_after_incident",
    "What was done before an incident and came in after it is shown as received after the incident.",
    Response.FLAG,
)


def check(bench: Bench, act: Act) -> Finding | None:
    holds = bench.facts.legal_holds.get(act.entry.signed.job)
    if not holds:
        return None
    received = act.entry.received_at
    if not any(act.placed <= hold.since < received for hold in holds):
        return None
    return RULE.found(
        f"Received on {received:%Y-%m-%d at %H:%MZ}, after the unit was kept as evidence.",
        "Nothing is to be done; the investigators are told of it.",
    )
