"""R203 · A key counts from its enrolment until the time from which it is revoked.

Example: a phone is lost on Monday and reported on Wednesday, revoked from Monday: what it signed since earns nothing.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    203,
    "key_not_valid",
    "A key counts from its enrolment until the time from which it is revoked.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    key = bench.facts.keys.get(act.entry.key)
    if key is None:
        return RULE.found("The device key is not on record.", "Enrol the phone and do the step again.")
    if key.revoked_from is not None and act.placed >= key.revoked_from:
        return RULE.found(
            f"The device key was revoked from {key.revoked_from:%Y-%m-%d %H:%M} UTC on.",
            "Enrol a phone that is in its owner's hands, and do the step again.",
        )
    if act.placed < key.enrolled_at:
        return RULE.found("The act is dated before the device key was enrolled.", "Set the phone's clock.")
    return None
