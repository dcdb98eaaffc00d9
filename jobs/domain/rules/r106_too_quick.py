"""R106 · A step that takes its time, or a cool-down, is not done sooner than that after the work before it.

Example: the casting is hot-washed at 09:20; “let it cool” for thirty minutes, logged at 09:31, earns nothing.
"""

from datetime import datetime, timedelta

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    106,
    "too_quick",
    "A step that takes its time, or a cool-down, is not done sooner than that after the work before it.",
    Response.NO_CREDIT,
)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if step is None or not isinstance(body, StepBody) or body.not_applicable or body.only_loosens:
        return None
    least = max(step.minimum_duration or timedelta(0), step.cool_down or timedelta(0))
    begun = _begun(bench, act, body) if least else None
    if begun is None or act.at - begun >= least:
        return None
    taken = max((act.at - begun) // timedelta(minutes=1), 0)
    return RULE.found(
        f"“{step.title}” takes {least // timedelta(minutes=1)} min at least; {taken} min had passed.",
        "Give it its time, then log it again.",
    )


def _begun(bench: Bench, act: Act, body: StepBody) -> datetime | None:
    """The earliest it can have begun: when the steps before it were done, or when the entry says."""
    step = act.step
    before = [bench.times[bench.credited[key]] for key in step.after if key in bench.credited] if step else []
    if body.started_at is not None:
        before.append(body.started_at + timedelta(milliseconds=act.entry.skew_ms))
    return max(before, default=None)
