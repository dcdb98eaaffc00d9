"""R803 · A move names the job's own revision, to keep it, or a later one of the same procedure that is in force.

Example: moving a job of PR-11 to a revision of PR-12, or back to the revision with fewer cycles.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import MoveBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    803,
    "moves_nowhere",
    "A move names the job's own revision, to keep it, or a later one of the same procedure that is in force.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body = act.body
    if not isinstance(body, MoveBody) or body.revision == bench.procedure.digest:
        return None
    if bench.procedure.release_step is None:
        return RULE.found(
            "A follow-up stays with the revision that it was opened with.", "Do it as that revision says."
        )
    known = bench.facts.revisions.get(bench.procedure.code, ())
    target = next((revision for revision in known if revision.digest == body.revision), None)
    cure = f"Name the digest of a later revision of {bench.procedure.code} that is in force."
    if target is None or body.revision not in bench.facts.procedures:
        return RULE.found(f"No published revision of {bench.procedure.code} has this digest.", cure)
    if target.revision < bench.procedure.revision:
        return RULE.found(f"{target.code} rev {target.revision} is older than the job's own.", cure)
    if target.in_force_from > act.at:
        return RULE.found(f"{target.code} rev {target.revision} is not in force yet.", cure)
    return None
