"""R114 · An amended entry stays in the record without credit; the amendment speaks in its place.

Example: a gap typed as .281 and meant as .218: both stand, and the second one counts.
"""

from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    114,
    "amended",
    "An amended entry stays in the record without credit; the amendment speaks in its place.",
    Response.NO_CREDIT,
)


def finding() -> Finding:
    """What the amended entry is told."""
    return RULE.found("A later amendment says what it should have said.", "See the amendment.")
