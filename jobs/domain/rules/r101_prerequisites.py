"""R101 · A step earns credit only after the steps that it comes after have credit.

Example: the right jaw, logged while the yoke is still on the bench, is stored without credit.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    101,
    "prerequisite_missing",
    "A step earns credit only after the steps that it comes after have credit.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    step = act.step
    if step is None or (isinstance(act.body, StepBody) and act.body.only_loosens):
        return None
    missing = [key for key in step.after if key not in bench.credited]
    if not missing:
        return None
    names = ", ".join(f"“{bench.procedure.by_key[key].title}”" for key in missing)
    return RULE.found(
        f"“{step.title}” comes after {names}, which has no credit yet.",
        f"Do and log {names} first, then “{step.title}” again.",
    )
