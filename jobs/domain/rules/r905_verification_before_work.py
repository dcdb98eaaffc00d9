"""R905 · A verification older than any adjustment, or broken by a fail, counts no more.

Example: four good cycles at 13:55, and at 14:30 somebody turns the take-up screw: the four count no more.
"""

from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    905,
    "verification_before_work",
    "A verification older than any adjustment, or broken by a fail, counts no more.",
    Response.NO_CREDIT,
)


def broken_run() -> Finding:
    """What the passed cycles before a failed one are told."""
    return RULE.found("A later cycle of the same run failed.", "Find the cause, cure it, and begin the cycles anew.")
