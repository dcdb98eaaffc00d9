"""R903 · One run of cycles is made by one person.

Example: cycles 1 and 2 by OK, cycle 3 by somebody else: the run is begun anew by the one who finishes it.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CycleBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(903, "second_verifier_in_a_run", "One run of cycles is made by one person.", Response.NO_CREDIT)


def check(bench: Bench, act: Act) -> Finding | None:
    if not isinstance(act.body, CycleBody) or not bench.cycles:
        return None
    first = bench.entries[bench.cycles[0]].technician
    if first == act.person:
        return None
    return RULE.found(
        f"{bench.initials(first)} began this run of cycles.",
        f"{bench.initials(first)} finishes it, or a failed cycle ends it and it is begun anew.",
    )
