"""R207 · Entries of two people from one phone within a minute are shown to whoever decides.

Example: SV logs the adjustment, and forty seconds later OK's cycle comes from a phone of the same name.
"""

from datetime import timedelta

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    207,
    "two_people_one_phone",
    "Entries of two people from one phone within a minute are shown to whoever decides.",
    Response.FLAG,
)
LEAST = timedelta(minutes=1)


def check(bench: Bench, act: Act) -> Finding | None:
    key = bench.facts.keys.get(act.entry.key)
    before = bench.last_on_phone.get(key.device) if key and key.device else None
    if before is None or before.technician == act.person or before.key == act.entry.key:
        return None
    if act.placed - bench.times[before.id] >= LEAST:
        return None
    return RULE.found(
        f"{bench.initials(before.technician)} logged on a phone of the same name less than a minute before.",
        "Each person signs on a phone of their own. A lead asks who did what.",
    )
