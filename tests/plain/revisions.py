"""Later revisions of the procedure that the machine works by: what each describes otherwise, and since when."""

from dataclasses import dataclass
from datetime import datetime

from tests.plain.procedure import AFTER, PHOTOS, REBUILD, SCOPE, STEPS, TEXT, VOIDS, WALLS, Plan


@dataclass(frozen=True)
class Revision:
    """A published revision: `since` is when it came into force."""

    plan: Plan
    since: datetime
    critical: bool


SECOND = Plan(
    ("kit", "fit", "pin", "gap", "adjust", "verify", "tag"),
    {**AFTER, "tag": ("verify",)},
    {**VOIDS, "verify": ("tag",)},
    {**SCOPE, "tag": "rebuild"},
    WALLS,
    PHOTOS,
    cycles=3,
    wordings={"pin": 2, "verify": 2},
)
THIRD = Plan(STEPS, AFTER, VOIDS, SCOPE, WALLS, PHOTOS, wordings={"pin": 2, "gap": 3})
PLANS = {1: REBUILD, 2: SECOND, 3: THIRD}
_OTHER = {
    2: (
        ("instruction: Drive it.", "instruction: Drive it slowly."),
        ("cycles: 2", "cycles: 3"),
        ("voids: [last]", "voids: [tag]"),
        (
            "{key: last, title: Last look, instruction: Look again.,",
            "{key: tag, title: Tag it, instruction: Tie it on.,",
        ),
        ("after: [last]", "after: [tag]"),
    ),
    3: (
        ("instruction: Drive it.", "instruction: Drive it slowly."),
        (
            "    title: Measure the gap\n    instruction: Measure it.",
            "    title: Measure the gap\n    instruction: Twice.",
        ),
    ),
}


def text_of(number: int, in_force_from: datetime, *, critical: bool) -> str:
    """The second or third revision as it is published."""
    text = TEXT
    for first, other in (
        *_OTHER[number],
        ("revision: 1", f"revision: {number}"),
        ("2026-01-15T00:00:00-06:00", in_force_from.isoformat()),
        ("safety_critical: false", f"safety_critical: {str(critical).lower()}"),
    ):
        text = text.replace(first, other)
    return text
