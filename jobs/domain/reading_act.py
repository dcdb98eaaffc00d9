"""One reading of one characteristic at the moment it is judged."""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from inspections.domain.characteristic import Characteristic
from inspections.domain.instruments import InstrumentFacts
from inspections.domain.judging import Judgement, judge
from inspections.domain.quantities import QuantityError, parse_quantity
from inspections.domain.typed_reading import TypedReading
from jobs.domain.act import Act
from jobs.domain.procedure import ReadingSpec


@dataclass(frozen=True, slots=True)
class ReadingAct:
    """What was typed, what it is judged by, the gauge as registered, and the verdict."""

    act: Act
    spec: ReadingSpec
    typed: TypedReading
    instrument: InstrumentFacts | None
    uncertainty: Fraction | None
    judgement: Judgement
    reason: str | None


@lru_cache(maxsize=4096)
def judged(characteristic: Characteristic, typed: TypedReading, uncertainty: Fraction | None) -> Judgement:
    """`judge`, remembered: a job is folded again and again, and what was typed never changes."""
    return judge(characteristic, typed, uncertainty)


def uncertainty_of(instrument: InstrumentFacts | None, spec: ReadingSpec) -> Fraction | None:
    """The instrument's expanded uncertainty in the characteristic's unit, where both measure the same thing."""
    if instrument is None:
        return None
    if instrument.unit == spec.characteristic.unit:
        return instrument.uncertainty
    try:
        return parse_quantity("1", instrument.unit).to(spec.characteristic.unit) * instrument.uncertainty
    except QuantityError:
        return None
