"""R404 · A correction is the one that the last reading asks for.

Example: welding up a stop pad when the gap is too small goes the wrong way.
"""

from jobs.domain.act import Act
from jobs.domain.bands import correction_asked, correction_named
from jobs.domain.bench import Bench
from jobs.domain.entry import CorrectionBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    404,
    "wrong_direction",
    "A correction is the one that the last reading asks for.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    spec = step.reading(body.characteristic) if isinstance(body, CorrectionBody) and step is not None else None
    if not isinstance(body, CorrectionBody) or step is None or spec is None:
        return None
    correction = correction_named(spec, body.correction)
    if correction is None:
        return None
    at, title = (step.key, spec.key), spec.characteristic.title
    found = bench.asked.get(at) or bench.measured.get(at)
    if found is None:
        return RULE.found(f"{title} has no reading that asks for a correction.", "Measure first.")
    asked = correction_asked(spec, found)
    if asked is correction:
        return None
    if asked is None:
        return RULE.found(f"The last reading of {title} asks for no correction.", "Leave it, or measure again.")
    return RULE.found(
        f"The last reading of {title} asks for “{asked.title}”; “{correction.title}” goes the wrong way.",
        f"{asked.title} on the {asked.face}, then measure again.",
    )
