"""R202 · Who worked on what is verified does not verify it, on whatever device.

Example: SV adjusts and then verifies; his cycles are stored without credit.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    202,
    "not_independent",
    "Who worked on what is verified does not verify it, on whatever device.",
    Response.NO_CREDIT,
)
_DID = {"adjust": "adjusted", "weld": "welded", "correct": "corrected", "verify": "verified"}


def check(bench: Bench, act: Act) -> Finding | None:
    if act.step is None or not act.step.not_by:
        return None
    did = bench.did(act.step.not_by, act.person)
    if did is None:
        return None
    return RULE.found(
        f"{act.initials} {_DID.get(did, 'did work to ' + did)} on this job and is not independent.",
        "A second person, who did none of that on this job, does it.",
    )
