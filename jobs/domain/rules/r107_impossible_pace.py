"""R107 · Two pieces of work by one person within ten seconds are shown to whoever decides.

Example: left jaw, pin and yoke logged in a row at the end of the shift: kept, credited, and flagged.
"""

from datetime import timedelta

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    107,
    "impossible_pace",
    "Two pieces of work by one person within ten seconds are shown to whoever decides.",
    Response.FLAG,
)
LEAST = timedelta(seconds=10)


def check(bench: Bench, act: Act) -> Finding | None:
    before = bench.last_by_person.get(act.person)
    if before is None or act.placed - before >= LEAST:
        return None
    seconds = (act.placed - before) // timedelta(seconds=1)
    return RULE.found(
        f"{act.initials} logged other work on this job {seconds} s before.",
        "Log each step when it is done. A lead looks at what was logged in a row.",
    )
