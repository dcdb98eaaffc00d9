"""What a reading asks of its gauge's range: the value that lies furthest out, in the gauge's own unit.

1. A single reading asks for itself, a bore for its smallest and its largest diameter, not for their difference.
2. Of a grid only a height larger than the gauge reaches is asked about, whichever way: heights are counted from where
   somebody set nought, and a height of nought needed no gauge.

Example: an elongation of 0.003 in from diameters of 1.503 and 1.506 in asks a bore gauge of 40 to 60 mm for 38.18 mm.
"""

from fractions import Fraction
from functools import lru_cache

from inspections.domain.characteristic import Characteristic, Method
from inspections.domain.geometry_seen import typed_geometry
from inspections.domain.instruments import InstrumentFacts
from inspections.domain.measurement import Heights
from inspections.domain.quantities import required_unit
from inspections.domain.typed_reading import TypedReading
from inspections.domain.units import converted


def demand_on_gauge(
    wanted: Characteristic, reading: TypedReading, value: Fraction | None, gauge: InstrumentFacts
) -> Fraction | None:
    """The value to hold against the gauge's range; `value` is the judged one. None where there is none to hold."""
    source, target = required_unit(wanted.unit), required_unit(gauge.unit)
    if source.dimension != target.dimension:
        return None
    if wanted.method is Method.SINGLE:
        return None if value is None else converted(value, source, target)
    low, high = gauge.working_range
    asked = [converted(end, source, target) for end in _ends(wanted, reading)]
    if wanted.method is Method.FLATNESS_GRID:
        return next((end for end in map(abs, asked) if end > high), None)
    return max(asked, key=lambda end: max(low - end, end - high), default=None)


@lru_cache(maxsize=1024)
def _ends(wanted: Characteristic, reading: TypedReading) -> tuple[Fraction, ...]:
    """The smallest and the largest of what was typed, in the characteristic's unit; nothing if it cannot be read."""
    seen = typed_geometry(wanted, reading)
    if seen is None:
        return ()
    rows = seen.z if isinstance(seen, Heights) else seen.diameters
    return min(map(min, rows)), max(map(max, rows))
