"""R902 · Cycles are counted one by one from 1, without a gap, since the last fail or adjustment.

Example: cycles 1, 2 and then 4: the third was not recorded, so 4 does not count.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CycleBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    902,
    "cycle_out_of_count",
    "Cycles are counted one by one from 1, without a gap, since the last fail or adjustment.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    if not isinstance(act.body, CycleBody):
        return None
    expected = len(bench.cycles) + 1
    if act.body.cycle == expected:
        return None
    return RULE.found(
        f"This was logged as cycle {act.body.cycle}, but the next one to count is {expected}.",
        f"Repeat it as cycle {expected}.",
    )
