"""R403 · A correction counts only with what it requires: permit, fire watch, crack check, cool-down.

Example: a weld without a crack check is stored without credit.
"""

from datetime import datetime, timedelta

from jobs.domain.act import Act
from jobs.domain.bands import correction_named
from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody, CorrectionBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    403,
    "correction_conditions_missing",
    "A correction counts only with what it requires: permit, fire watch, crack check, cool-down.",
    Response.NO_CREDIT,
)
_LONGEST_PERMIT = timedelta(days=1)  # one of years would be for no work, and no measure of a cool-down
_WORDS = {
    "permit": "a permit with its interval of at most a day, which covers the work",
    "fire_watch": "a fire watch with its end, after the permit's beginning",
    "crack_check": "a crack check",
    "cool_down": "a cool-down as long as the procedure says",
}


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, CorrectionBody) or step is None:
        return None
    spec = step.reading(body.characteristic)
    correction = correction_named(spec, body.correction) if spec else None
    if correction is None:
        return None
    at = _done_at(bench, act)
    missing = [name for name in correction.requires if not _is_met(name, body, at, correction.cool_down)]
    if not missing:
        return None
    words = ", ".join(_WORDS.get(name, name) for name in missing)
    return RULE.found(f"{correction.title} needs {words}; the entry does not show it.", f"Provide {words} and log it.")


def _done_at(bench: Bench, act: Act) -> datetime:
    """When it was done by the clock of its phone; of an amendment, when what it amends was done."""
    body = act.entry.body
    return (bench.entries[bench.act_of(body.amends)] if isinstance(body, AmendmentBody) else act.entry).performed_at


def _is_met(name: str, body: CorrectionBody, at: datetime, cool_down: timedelta | None) -> bool:
    begun = body.permit_from
    if name == "permit":
        if not body.permit or begun is None or body.permit_to is None:
            return False
        return begun <= at <= body.permit_to and body.permit_to - begun <= _LONGEST_PERMIT
    if name == "fire_watch":
        return body.fire_watch_until is not None and (begun is None or begun < body.fire_watch_until)
    if name == "cool_down":
        return bool(body.cooled) and (cool_down is None or begun is None or at - begun >= cool_down)
    return bool(body.crack_check)
