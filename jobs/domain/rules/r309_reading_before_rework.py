"""R309 · A reading from before the work that changed what it measured counts no more.

Example: the stop pad is ground after the gap was read: the gap is read again.
"""

from jobs.domain.finding import Response, Rule

RULE = Rule(
    309,
    "reading_before_rework",
    "A reading from before the work that changed what it measured counts no more.",
    Response.NO_CREDIT,
)
