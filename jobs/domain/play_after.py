"""Which reading shows what an adjustment has set: the play after the turns of a take-up screw."""

from fractions import Fraction
from functools import lru_cache

from inspections.domain.adjustment import TakeUpScrew
from inspections.domain.threads import ThreadUnreadableError, parse_thread
from inspections.domain.units import UNITS
from jobs.domain.procedure import AdjustmentSpec, Outcome, Procedure, ReadingSpec, Step


def adjusted_by(procedure: Procedure, spec: ReadingSpec) -> Step | None:
    """The step that is done again when this reading is out: an adjustment with a screw, of which it shows the play."""
    if spec.characteristic.dimension != "length":
        return None
    for band in spec.bands:
        if band.then is Outcome.REWORK and band.rework:
            step = procedure.by_key.get(band.rework)
            if step is not None and step.adjustment is not None and step.adjustment.method == "screw":
                return step
    return None


@lru_cache(maxsize=64)
def screw_of(adjustment: AdjustmentSpec) -> TakeUpScrew | None:
    """The take-up screw that the procedure describes; None without a thread that can be read."""
    try:
        thread = parse_thread(adjustment.thread or "")
    except ThreadUnreadableError:
        return None
    taper = Fraction(adjustment.taper.partition(":")[2]) if adjustment.taper else None
    return TakeUpScrew(thread, taper)


def in_thread_unit(screw: TakeUpScrew, length: Fraction, unit: str) -> Fraction:
    """A length in the unit of the screw's thread."""
    return length * UNITS[unit].factor / UNITS[screw.thread.unit].factor
