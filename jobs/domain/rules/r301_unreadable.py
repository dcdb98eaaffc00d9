"""R301 · What cannot be read, or cannot be believed in its unit, is asked about and not judged.

So is an air temperature at which nobody works, where plate and air are compared: both at 1,000 F are near each other,
and mean nothing.

Example: “5.6 in”: did you mean 5.6 mm, which is 0.220 in?
"""

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache

from inspections.domain.measuring_problem import MeasuringProblem
from inspections.domain.plausibility import believable, question_of_unit
from inspections.domain.quantities import QuantityError, number_alone, parse_quantity
from inspections.domain.typed_reading import TypedValue
from inspections.domain.units import UNITS
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct
from jobs.domain.rules import r310_incomplete, r311_repeats_disagree

RULE = Rule(
    301,
    "reading_not_judged",
    "What cannot be read, or cannot be believed in its unit, is asked about and not judged.",
    Response.NO_CREDIT,
)

_AIR_UNIT = "degF"
_AIR = (Fraction(-40), Fraction(140))  # where people work; common practice, no source
_ELSEWHERE = r310_incomplete.CODES | {r311_repeats_disagree.RULE.code}


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    for problem in reading.judgement.problems:
        if problem.code in _ELSEWHERE:
            continue
        yield RULE.found(f"{reading.spec.characteristic.title}: {problem.message}", problem.cure)
    asked = (
        _question_of_air(reading.typed.air_temperature) if reading.spec.max_plate_air_difference is not None else None
    )
    if asked is not None:
        yield RULE.found(f"{reading.spec.characteristic.title}: air at {asked.message}", asked.cure)


@lru_cache(maxsize=1024)
def _question_of_air(value: TypedValue | None) -> MeasuringProblem | None:
    """None as well for what cannot be read: R305 says so."""
    if value is None:
        return None
    try:
        typed = parse_quantity(value.text, value.unit)
        if believable(typed.to(_AIR_UNIT), _AIR):
            return None
    except QuantityError:
        return None
    return question_of_unit(typed.value, number_alone(value.text), UNITS[typed.unit], UNITS[_AIR_UNIT], _AIR)
