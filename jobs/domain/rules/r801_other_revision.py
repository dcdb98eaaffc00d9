"""R801 · Work counts under the revision that the job is pinned to, and no other.

Example: a phone that still shows revision 4 after the job was moved to revision 5.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    801,
    "other_revision",
    "Work counts under the revision that the job is pinned to, and no other.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    if act.entry.signed.procedure == bench.procedure.digest:
        return None
    procedure = bench.procedure
    return RULE.found(
        f"The entry was made under another revision than {procedure.code} rev {procedure.revision}.",
        "Fetch the job anew, read the step as it stands there, and do it again.",
    )
