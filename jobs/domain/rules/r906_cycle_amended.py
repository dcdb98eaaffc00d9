"""R906 · What was observed in a verification is never amended into a pass; the cycles are made again.

Example: “yoke home: no”, amended to yes a minute later: the run is broken all the same.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    906,
    "cycle_amended",
    "What was observed in a verification is never amended into a pass; the cycles are made again.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, _act: Act) -> Finding | None:
    """Every amendment of a cycle."""
    return RULE.found("A verification cycle was amended.", "Begin the cycles anew.")
