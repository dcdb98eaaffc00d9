"""Is there a newer safety-critical revision about which somebody must decide?"""

from datetime import datetime

from jobs.domain.bench import Bench
from jobs.domain.facts import RevisionFact


def undecided_revision(bench: Bench, at: datetime) -> RevisionFact | None:
    """The newest safety-critical revision in force by `at`, after the job's own, that nobody has decided about."""
    revisions = bench.facts.revisions.get(bench.procedure.code, ())
    if len(revisions) < 2 or bench.procedure.release_step is None:  # noqa: PLR2004 # the job's own is one of them
        return None  # a follow-up stays with the revision that it was opened with
    found = None
    for revision in revisions:
        waits = revision.safety_critical and revision.revision > bench.procedure.revision
        if waits and revision.in_force_from <= at and revision.digest not in bench.kept_from:
            found = revision
    return found
