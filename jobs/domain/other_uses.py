"""What is done with an instrument besides reading: a torque applied, a verification cycle made.

There is no limit that either could be judged anew by, so each is shown for review, with what it truly was where that
can be said.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from inspections.domain.found_bad import FoundBad, likely_value
from inspections.domain.quantities import QuantityError, parse_quantity, shown
from inspections.domain.typed_reading import TypedValue
from jobs.domain.entry import CycleBody, StepBody

_TENTH = Fraction(1, 10)


@dataclass(frozen=True, slots=True)
class OtherUse:
    """One use; `release` is the release that rests on the entry, None when none does."""

    entry: str
    job: str
    step: str
    what: str
    performed_at: datetime
    recorded: str | None
    corrected: str | None
    release: str | None

    def document(self) -> dict[str, Any]:
        return {
            "entry": self.entry,
            "job": self.job,
            "step": self.step,
            "what": self.what,
            "performed_at": self.performed_at.isoformat(),
            "recorded": self.recorded,
            "corrected": self.corrected,
            "release": self.release,
        }


def uses_in(
    body: object, found: FoundBad, entry: str, job: str, at: datetime, release: str | None
) -> Iterator[OtherUse]:
    """The uses of the instrument in one entry that was made while it is doubted."""
    if isinstance(body, CycleBody) and body.instrument == found.instrument and found.covers(at):
        yield OtherUse(entry, job, body.step, f"Verification cycle {body.cycle}", at, None, None, release)
    if not isinstance(body, StepBody) or not found.covers(at):
        return
    for work in body.fasteners:
        if work.instrument == found.instrument and work.count:
            what = f"{work.count} of {work.key} tightened"
            recorded, corrected = _torques(found, work.torque)
            yield OtherUse(entry, job, body.step, what, at, recorded, corrected, release)


def _torques(found: FoundBad, typed: TypedValue | None) -> tuple[str | None, str | None]:
    """As typed, and as it truly was, both in the instrument's unit where that can be read."""
    if typed is None:
        return None, None
    try:
        value = parse_quantity(typed.text, typed.unit).to(found.unit)
    except QuantityError:
        return f"{typed.text} {typed.unit}".strip(), None
    truly = likely_value(found, value)
    return shown(value, found.unit, _TENTH), None if truly is None else shown(truly, found.unit, _TENTH)
