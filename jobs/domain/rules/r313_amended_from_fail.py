"""R313 · A reading that failed and was amended is shown to whoever decides.

Example: .156 amended to .186 by the person who typed it: both stand, and the lead sees it before the release.
"""

from collections.abc import Sequence

from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.rules import r302_out_of_limits

RULE = Rule(
    313,
    "amended_from_fail",
    "A reading that failed and was amended is shown to whoever decides.",
    Response.FLAG,
)


def findings(before: Sequence[Finding]) -> list[Finding]:
    """What an amendment is told of an entry that had these findings."""
    if not any(finding.rule == r302_out_of_limits.RULE.number for finding in before):
        return []
    return [RULE.found("The entry that it amends was out of limits.", "A lead compares the two before the release.")]
