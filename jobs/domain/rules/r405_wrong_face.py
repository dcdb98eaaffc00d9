"""R405 · A correction is made on the face that the procedure names.

Example: the stop pad of the jaw is ground, never the casting that it meets.
"""

from jobs.domain.act import Act
from jobs.domain.bands import correction_named
from jobs.domain.bench import Bench
from jobs.domain.entry import CorrectionBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(405, "wrong_face", "A correction is made on the face that the procedure names.", Response.NO_CREDIT)


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    spec = step.reading(body.characteristic) if isinstance(body, CorrectionBody) and step is not None else None
    if not isinstance(body, CorrectionBody) or spec is None:
        return None
    correction = correction_named(spec, body.correction)
    if correction is None or body.face == correction.face:
        return None
    return RULE.found(
        f"{correction.title} is done on the {correction.face}, not on the {body.face}.",
        f"Work only the {correction.face}.",
    )
