"""One reading of one characteristic at the moment it is judged."""

from dataclasses import dataclass
from fractions import Fraction

from inspections.domain.instruments import InstrumentFacts
from inspections.domain.judging import Judgement
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
