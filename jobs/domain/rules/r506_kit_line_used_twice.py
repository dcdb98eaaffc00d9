"""R506 · A line of the kit goes into the coupling once.

Where an entry says which lines of the kit it fitted, none of them is named twice, and none was fitted at another step.
Doing the same step again fits the same parts again, and uses no line twice.

Example: the left jaw's bushes cannot be fitted to the right jaw as well.
"""

from collections import Counter
from uuid import UUID

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody, KitIssue, StepBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(506, "kit_line_used_twice", "A line of the kit goes into the coupling once.", Response.NO_CREDIT)


def check(bench: Bench, act: Act) -> Finding | None:
    body, step = act.body, act.step
    if not isinstance(body, StepBody) or step is None or body.kit is None or not body.kit.lines:
        return None
    named = Counter(body.kit.lines)
    twice = next((line for line, count in named.items() if count > 1), None)
    if twice is not None:
        return RULE.found(f"The entry names {twice} twice.", "Name each line once, for the part that was fitted.")
    if step.issues_kit:
        return None
    for key, done in bench.performed.items():
        before = _fitted(bench, done.entry)
        if key != step.key and before is not None and before.serial == body.kit.serial:
            for line in named.keys() & set(before.lines):
                what = f"{line} of kit {body.kit.serial} was fitted at “{bench.title(key)}”."
                return RULE.found(what, "Fit the part that belongs here, and log what was fitted.")
    return None


def _fitted(bench: Bench, entry: UUID) -> KitIssue | None:
    """What an earlier entry says that it fitted."""
    body = bench.entries[entry].body
    if isinstance(body, AmendmentBody):
        body = body.body
    if not isinstance(body, StepBody):
        return None
    step = bench.step(body.step)
    return None if step is None or step.issues_kit else body.kit
