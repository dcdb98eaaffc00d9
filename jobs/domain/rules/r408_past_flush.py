"""R408 · A face that was ground past flush is beyond cure.

Example: the stop pad is gone and the jaw itself is ground: it is condemned, or another jaw is fitted and two decide.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CorrectionBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(408, "past_flush", "A face that was ground past flush is beyond cure.", Response.NO_CREDIT)


def check(_bench: Bench, act: Act) -> Finding | None:
    if not isinstance(act.body, CorrectionBody) or not act.body.past_flush:
        return None
    return RULE.found(
        f"The {act.body.face} was ground past flush.",
        "Condemn it, with a second person; or fit a new part, and lead and quality clear the hold.",
    )
