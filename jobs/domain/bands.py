"""Which band of the number line a value lies in, and what the procedure says there."""

from fractions import Fraction

from jobs.domain.procedure import Band, Correction, Outcome, Procedure, ReadingSpec


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


def words_for(band: Band | None, spec: ReadingSpec, procedure: Procedure) -> str:
    """What to do about a value in this band, as one sentence."""
    if band is None:
        return "Measure again."
    if band.then is Outcome.CONDEMN:
        return "Beyond cure: condemn it; a second person concurs."
    if band.then is Outcome.CORRECT and band.correction:
        correction = correction_named(spec, band.correction)
        return (
            f"{correction.title} on the {correction.face}, then measure again."
            if correction
            else "Correct it."
        )
    if band.then is Outcome.REWORK and band.rework:
        step = procedure.by_key.get(band.rework)
        return f"Do “{step.title if step else band.rework}” again, then measure again."
    return "Measure again."
