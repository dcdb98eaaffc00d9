"""R402 · Corrections of a characteristic are counted; after the last one lead and quality decide.

Example: a fourth correction of the jaw gap waits until a lead clears it.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CorrectionBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    402,
    "corrections_used_up",
    "Corrections of a characteristic are counted; after the last one lead and quality decide.",
    Response.HOLD,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, CorrectionBody) or step is None:
        return None
    spec = step.reading(body.characteristic)
    allowed = max((c.attempts for c in spec.corrections), default=0) if spec else 0
    made = len(bench.corrected.get((step.key, body.characteristic), ()))
    if not allowed or spec is None or made < allowed:
        return None
    return RULE.found(
        f"{spec.characteristic.title} was corrected {made} times; {allowed} are allowed.",
        "Stop. Lead and quality decide, two people, and clear the hold with a reason; then it counts.",
    )
