"""R313 · A reading that failed and was amended is shown to whoever decides.

Example: .156 amended to .186 by the person who typed it: both stand, and the lead sees it before the release.
"""

from collections.abc import Sequence

from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.rules import r302_out_of_limits, r303_conditional

RULE = Rule(
    313,
    "amended_from_fail",
    "A reading that failed and was amended is shown to whoever decides.",
    Response.FLAG,
)


def findings(before: Sequence[Finding]) -> list[Finding]:
    """What an amendment is told of an entry that had these findings."""
    rules = {finding.rule for finding in before}
    cure = "A lead compares the two before the release."
    if r302_out_of_limits.RULE.number in rules:
        return [RULE.found("The entry that it amends was out of limits.", cure)]
    if r303_conditional.RULE.number in rules:
        return [RULE.found("The entry that it amends was too near its limits to prove anything.", cure)]
    return []
