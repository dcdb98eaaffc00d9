"""R308 · A reading is of a characteristic that the step measures.

Example: “jaw gap” read at the inspection of the casting.
"""

from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Step

RULE = Rule(
    308,
    "characteristic_unknown",
    "A reading is of a characteristic that the step measures.",
    Response.NO_CREDIT,
)


def unknown(step: Step, characteristic: str) -> Finding:
    known = ", ".join(spec.key for spec in step.readings) or "none"
    return RULE.found(
        f"“{step.title}” does not measure {characteristic}.", f"Read one of its characteristics: {known}."
    )
