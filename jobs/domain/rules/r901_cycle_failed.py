"""R901 · A verification cycle counts only if every observation was made and holds.

Example: jaws round the shank, handle home, no daylight, but the yoke not home: the count starts anew.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CycleBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    901,
    "cycle_failed",
    "A verification cycle counts only if every observation was made and holds.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, CycleBody) or step is None or step.verification is None:
        return None
    wanted = step.verification.observations
    absent = [name for name in wanted if name not in body.observations]
    failed = [name for name in wanted if body.observations.get(name) is False]
    unknown = [name for name in body.observations if name not in wanted]
    if not (absent or failed or unknown):
        return None
    parts = [
        *(f"{_words(name)}: no" for name in failed),
        *(f"{_words(name)}: not recorded" for name in absent),
        *(f"{_words(name)}: not an observation of this procedure" for name in unknown),
    ]
    return RULE.found(
        f"Cycle {body.cycle} failed. {'; '.join(parts)}.",
        "Find the cause, cure it, and begin the cycles anew.",
    )


def _words(name: str) -> str:
    return name.replace("_", " ")
