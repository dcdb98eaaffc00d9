"""R119 · An odometer that cannot be read as a distance is asked about.

Example: “412,306 mi”: a thousands mark or a decimal comma?
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.odometer import read_odometer

RULE = Rule(
    119,
    "odometer_not_read",
    "An odometer that cannot be read as a distance is asked about.",
    Response.FLAG,
)
_CURE = "Amend the entry with the digits alone, and mi or km beside them."


def check(_bench: Bench, act: Act) -> Finding | None:
    typed = act.body.odometer if isinstance(act.body, StepBody) else None
    if typed is None:
        return None
    found = read_odometer(typed)
    return RULE.found(f"Odometer: {found}", _CURE) if isinstance(found, str) else None
