"""Which band of the number line a value lies in, and what the procedure says there."""

from fractions import Fraction

from inspections.domain.judging import Verdict
from jobs.domain.procedure import Band, Correction, Direction, Outcome, Procedure, ReadingSpec
from jobs.domain.remembered import Measured


def band_of(spec: ReadingSpec, value: Fraction | None) -> Band | None:
    """The band of `spec` that holds `value` (exact, in the characteristic's unit); publishing proved there is one."""
    if value is None:
        return None
    return next((band for band in spec.bands if _holds(band, value)), None)


def _holds(band: Band, value: Fraction) -> bool:
    above = band.lower is None or value > band.lower or (band.lower_inclusive and value == band.lower)
    below = band.upper is None or value < band.upper or (band.upper_inclusive and value == band.upper)
    return above and below


def correction_named(spec: ReadingSpec, key: str) -> Correction | None:
    return next((correction for correction in spec.corrections if correction.key == key), None)


def correction_asked(spec: ReadingSpec, found: Measured) -> Correction | None:
    """The correction that a governing reading asks for: by its band, or towards the nominal if it is conditional."""
    if found.verdict is Verdict.FAIL:
        band = band_of(spec, found.value)
        return correction_named(spec, band.correction) if band is not None and band.correction else None
    if not found.waits or found.value is None:
        return None
    wanted = Direction.INCREASES if _is_near_lower(spec, found.value) else Direction.DECREASES
    return next((correction for correction in spec.corrections if correction.direction is wanted), None)


def _is_near_lower(spec: ReadingSpec, value: Fraction) -> bool:
    limits = spec.characteristic.limits
    if limits.lower is None or limits.upper is None:
        return limits.upper is None
    return value - limits.lower < limits.upper - value


def words_for(band: Band | None, spec: ReadingSpec, procedure: Procedure) -> str:
    """What to do about a value in this band, as one sentence."""
    if band is None:
        return "Measure again."
    if band.then is Outcome.CONDEMN:
        return "Beyond cure: condemn it; a second person concurs."
    if band.then is Outcome.CORRECT and band.correction:
        correction = correction_named(spec, band.correction)
        return f"{correction.title} on the {correction.face}, then measure again." if correction else "Correct it."
    if band.then is Outcome.REWORK and band.rework:
        step = procedure.by_key.get(band.rework)
        return f"Do “{step.title if step else band.rework}” again, then measure again."
    return "Measure again."
