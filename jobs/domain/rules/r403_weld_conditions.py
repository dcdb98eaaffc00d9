"""R403 · A correction counts only with what it requires: permit, fire watch, crack check, cool-down.

Example: a weld without a crack check is stored without credit.
"""

from jobs.domain.act import Act
from jobs.domain.bands import correction_named
from jobs.domain.bench import Bench
from jobs.domain.entry import CorrectionBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    403,
    "correction_conditions_missing",
    "A correction counts only with what it requires: permit, fire watch, crack check, cool-down.",
    Response.NO_CREDIT,
)
_WORDS = {
    "permit": "a permit that covers the work",
    "fire_watch": "a fire watch until after the work",
    "crack_check": "a crack check",
    "cool_down": "a cool-down",
}


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, CorrectionBody) or step is None:
        return None
    spec = step.reading(body.characteristic)
    correction = correction_named(spec, body.correction) if spec else None
    if correction is None:
        return None
    missing = [name for name in correction.requires if not _met(name, body, act)]
    if not missing:
        return None
    words = ", ".join(_WORDS.get(name, name) for name in missing)
    return RULE.found(
        f"{correction.title} needs {words}; the entry does not show it.", f"Provide {words} and log it."
    )


def _met(name: str, body: CorrectionBody, act: Act) -> bool:
    if name == "permit":
        covers = body.permit_from is None or body.permit_from <= act.entry.performed_at
        return (
            bool(body.permit)
            and covers
            and (body.permit_to is None or body.permit_to >= act.entry.performed_at)
        )
    if name == "fire_watch":
        return body.fire_watch_until is not None
    return bool({"crack_check": body.crack_check, "cool_down": body.cooled}.get(name))
