"""R109 · What a later act undoes loses its credit, and what that undoes in turn.

Example: the base bolts are taken out again; the torque of the cam bolt, the adjustment and the verification go too.
"""

from jobs.domain.entry import EntryKind
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.rules import r309_reading_before_rework, r905_verification_before_work

RULE = Rule(
    109,
    "undone",
    "What a later act undoes loses its credit, and what that undoes in turn.",
    Response.NO_CREDIT,
)
_OF_KIND = {
    EntryKind.READING: r309_reading_before_rework.RULE,
    EntryKind.VERIFICATION_CYCLE: r905_verification_before_work.RULE,
}


def undone_finding(kind: EntryKind, title: str, because: str) -> Finding:
    """What an entry of `kind` at the step with this title is told when later work undoes it."""
    return _OF_KIND.get(kind, RULE).found(because, f"Do “{title}” again.")
