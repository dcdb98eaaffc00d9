"""R406 · A casting is never repaired: it is used as it is, or condemned.

Example: “weld and ream the bore” of a worn casting earns nothing, and holds the job.
"""

from jobs.domain.act import Act
from jobs.domain.bands import correction_named
from jobs.domain.bench import Bench
from jobs.domain.entry import CorrectionBody
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.procedure import Outcome

RULE = Rule(
    406,
    "casting_repair",
    "A casting is never repaired: it is used as it is, or condemned.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, CorrectionBody) or step is None:
        return None
    spec = step.reading(body.characteristic)
    condemns = spec is not None and any(band.then is Outcome.CONDEMN for band in spec.bands)
    named = spec is not None and correction_named(spec, body.correction) is not None
    if (not condemns or named) and "casting" not in body.face.lower():
        return None
    return RULE.found(
        f"{body.correction} on the {body.face} is a repair of the casting.",
        "Stop. Condemn the casting; a second person concurs.",
    )
