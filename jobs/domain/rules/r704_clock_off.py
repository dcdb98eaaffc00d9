"""R704 · An act of a phone whose clock was put right by five minutes or more is shown.

The phone says its own time beside what it sends, and nobody signs that. So an act that was moved far by it is looked
at.

Example: an adjustment signed as 14:30 and sent with a clock “an hour fast” is filed at 13:30, before the verification.
"""

from datetime import timedelta

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    704,
    "clock_off",
    "An act of a phone whose clock was put right by five minutes or more is shown.",
    Response.FLAG,
)
_MOST = timedelta(minutes=5) // timedelta(milliseconds=1)


def check(_bench: Bench, act: Act) -> Finding | None:
    skew = act.entry.skew_ms
    if -_MOST < skew < _MOST:
        return None
    off = f"{abs(skew) // 60_000} min {'slow' if skew > 0 else 'fast'}"
    return RULE.found(
        f"The phone's clock was {off}, as it said itself; the act is filed at {act.placed:%Y-%m-%d %H:%M} UTC.",
        "Set the phone's clock. A lead asks when it was done.",
    )
