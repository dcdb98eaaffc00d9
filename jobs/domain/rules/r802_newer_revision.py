"""R802 · A newer safety-critical revision holds the job until a lead moves the job to it or keeps it.

Example: rev 5 is in force since midnight; the job of Friday waits until AB moves it.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.facts import RevisionFact
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    802,
    "newer_revision",
    "A newer safety-critical revision holds the job until a lead moves the job to it or keeps it.",
    Response.HOLD,
)


def check(bench: Bench, _act: Act) -> Finding | None:
    return None if bench.undecided is None else finding(bench.undecided)


def finding(revision: RevisionFact) -> Finding:
    """What work is told, and the gate, while nobody has decided."""
    return RULE.found(
        f"{revision.code} rev {revision.revision} is in force and safety-critical; nobody has decided about this job.",
        "A lead moves the job to it, or keeps it on its own revision, with a reason.",
    )
