"""R804 · A move shows which of the steps done so far are to be done again under the other revision.

Example: rev 5 asks for six cycles where rev 4 asked for four: “Verify the lock” is done again, if it was done.
"""

from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Procedure

RULE = Rule(
    804,
    "steps_changed",
    "A move shows which of the steps done so far are to be done again under the other revision.",
    Response.FLAG,
)


def finding(target: Procedure, titles: tuple[str, ...]) -> Finding:
    """What the move is told."""
    names = ", ".join(f"“{title}”" for title in titles)
    return RULE.found(f"Rev {target.revision} describes otherwise: {names}.", "Do them again as it says.")
