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
    return uncertainty_in(instrument, spec.characteristic)


def uncertainty_in(instrument: InstrumentFacts | None, wanted: Characteristic) -> Fraction | None:
    """As `uncertainty_of`, for a characteristic that no procedure names."""
    if instrument is None:
        return None
    if instrument.unit == wanted.unit:
        return instrument.uncertainty
    try:
        zero, one = (parse_quantity(text, instrument.unit).to(wanted.unit) for text in ("0", "1"))
    except QuantityError:
        return None
    return (one - zero) * instrument.uncertainty  # only the scale of a unit counts, not its zero
