"""R305 · A reading counts only if plate and air are near enough to each other.

Example: 74 F plate and 72 F air are 2 F apart, against 15 F at most.
"""

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache

from inspections.domain.quantities import QuantityError, parse_quantity, shown_number
from inspections.domain.typed_reading import TypedValue
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule
from jobs.domain.reading_act import ReadingAct

RULE = Rule(
    305,
    "too_warm",
    "A reading counts only if plate and air are near enough to each other.",
    Response.NO_CREDIT,
)
_CURE = "Let the plate cool, read both thermometers, and measure again."


def check(_bench: Bench, reading: ReadingAct) -> Iterator[Finding]:
    most = reading.spec.max_plate_air_difference
    if most is None:
        return
    plate, air = _fahrenheit(reading.typed.plate_temperature), _fahrenheit(reading.typed.air_temperature)
    title = reading.spec.characteristic.title
    if plate is None or air is None:
        yield RULE.found(f"{title}: plate and air temperature are not both recorded and readable.", _CURE)
    elif abs(plate - air) > most:
        apart, bound = shown_number(abs(plate - air), None), shown_number(most, None)
        yield RULE.found(f"{title}: plate and air are {apart} F apart, {bound} F at most.", _CURE)


@lru_cache(maxsize=1024)
def _fahrenheit(value: TypedValue | None) -> Fraction | None:
    if value is None:
        return None
    try:
        return parse_quantity(value.text, value.unit).to("degF")
    except QuantityError:
        return None
