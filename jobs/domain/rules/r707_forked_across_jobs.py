"""R707 · A number that a phone signed on two jobs holds both until somebody has looked.

Each of the two entries names the other, and keeps its credit: nobody knows which of them was not meant. A release that
was signed before the second of them came in does not fall by this rule; the record suspends it.

Example: a copy of RM's phone signs an entry 17 on another job than the entry 17 of the phone.
"""

from collections.abc import Sequence

from jobs.domain.facts import ForkFact
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    707,
    "forked_across_jobs",
    "A number that a phone signed on two jobs holds both until somebody has looked.",
    Response.HOLD,
)


def finding(number: int, forks: Sequence[ForkFact]) -> Finding:
    twins = ", ".join(f"entry {fork.entry} of job {fork.job}" for fork in forks)
    what = f"The phone signed the number {number} on another job too: {twins}."
    return RULE.found(what, "A lead looks at the phone, revokes its key if in doubt, and clears the hold.")
