"""Why a reading could not be judged, and what cures it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MeasuringProblem:
    """A stable `code`, what is wrong in one sentence, and what to do about it."""

    code: str
    message: str
    cure: str
