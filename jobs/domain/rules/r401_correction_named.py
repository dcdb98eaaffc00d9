"""R401 · Only a correction that the procedure names for the characteristic.

Example: bending the handle to bring its travel into limits is named nowhere; the cam is replaced.
"""

from jobs.domain.act import Act
from jobs.domain.bands import correction_named
from jobs.domain.bench import Bench
from jobs.domain.entry import CorrectionBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    401,
    "correction_not_named",
    "Only a correction that the procedure names for the characteristic.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, CorrectionBody) or step is None:
        return None
    spec = step.reading(body.characteristic)
    if spec is None:
        known = ", ".join(spec.key for spec in step.readings) or "none"
        return RULE.found(f"“{step.title}” does not measure {body.characteristic}.", f"It measures: {known}.")
    if correction_named(spec, body.correction) is not None:
        return None
    named = ", ".join(correction.key for correction in spec.corrections)
    return RULE.found(
        f"{body.correction} is no correction of {spec.characteristic.title} that the procedure names.",
        f"It names: {named}." if named else "It names none: condemn it, or take another part.",
    )
