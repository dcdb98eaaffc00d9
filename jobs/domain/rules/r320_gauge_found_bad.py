"""R320 · A reading that fails with the error of its gauge, found later, holds the job until it is measured again.

Or until lead and quality decide. What was recorded keeps its credit: it was measured properly as far as anybody
knew. A release that was signed before does not fall by this rule; the report of the gauge suspends it.

Example: 0.184 in with feeler blades that proved 0.006 in thinner than marked is truly 0.178 in, below 0.180 in.
"""

from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    320,
    "gauge_found_bad",
    "A reading that fails with the error of its gauge, found later, holds the job until it is measured again.",
    Response.HOLD,
)


def finding(words: str) -> Finding:
    return RULE.found(
        words, "Measure again with a gauge that is good; or lead and quality clear the hold with a reason."
    )
