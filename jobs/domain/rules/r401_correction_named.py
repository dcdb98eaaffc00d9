"""R401 · Only a correction that the procedure names, for the side the reading is out on, on the named face.

Example: welding up a stop pad when the gap is too small goes the wrong way; welding a casting is never named.
"""

from jobs.domain.act import Act
from jobs.domain.bands import band_of, correction_named
from jobs.domain.bench import Bench
from jobs.domain.entry import CorrectionBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    401,
    "correction_not_named",
    "Only a correction that the procedure names, for the side the reading is out on, on the named face.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, CorrectionBody) or step is None:
        return None
    spec = step.reading(body.characteristic)
    if spec is None:
        return RULE.found(
            f"“{step.title}” has no characteristic {body.characteristic}.", "Name one that it has."
        )
    correction = correction_named(spec, body.correction)
    if correction is None:
        return RULE.found(
            f"{body.correction} is not a correction that the procedure names for {spec.characteristic.title}; "
            "a casting is never repaired.",
            _cure(spec.corrections),
        )
    if body.face != correction.face:
        return RULE.found(
            f"{correction.title} is done on the {correction.face}, not on the {body.face}.",
            f"Work only the {correction.face}.",
        )
    found = bench.measured.get((step.key, spec.key))
    if found is None or found.value is None:
        return RULE.found(
            f"{spec.characteristic.title} has no reading that asks for a correction.", "Measure first."
        )
    band = band_of(spec, found.value)
    if band is None or band.correction != correction.key:
        asked = band.correction if band is not None and band.correction else "no correction"
        return RULE.found(
            f"The reading of {spec.characteristic.title} asks for {asked}, not for {correction.key}: "
            "it would go the wrong way.",
            "Do what the reading asks for, and measure again.",
        )
    return None


def _cure(corrections: tuple[object, ...]) -> str:
    return (
        "Use a correction that the procedure names." if corrections else "Condemn it, or take another part."
    )
