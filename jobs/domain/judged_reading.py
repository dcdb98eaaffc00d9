"""A reading judged apart from its job: for showing what it came to, and for trying one out."""

from inspections.domain.instruments import InstrumentFacts
from inspections.domain.judging import Judgement
from inspections.domain.typed_reading import TypedReading
from jobs.domain.procedure import ReadingSpec
from jobs.domain.reading_act import judged, uncertainty_of


def judgement_of(spec: ReadingSpec, typed: TypedReading, gauge: InstrumentFacts | None) -> Judgement:
    """What `typed` comes to with this gauge's uncertainty; none where the gauge measures something else."""
    return judged(spec.characteristic, typed, uncertainty_of(gauge, spec))
