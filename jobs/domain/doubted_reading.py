"""A reading whose gauge was found bad later, judged again with the gauge's error as a bias."""

from inspections.domain.characteristic import Method
from inspections.domain.found_bad import Rejudged, UsedReading, found_bad_of, rejudge
from inspections.domain.instruments import found_bad_after
from inspections.domain.measurement import in_contact
from inspections.domain.quantities import shown
from jobs.domain.reading_act import ReadingAct


def rejudged_reading(reading: ReadingAct) -> Rejudged | None:
    """What the reading is worth now; None if its gauge was not found bad after it, or nothing was judged."""
    gauge, value = reading.instrument, reading.judgement.value
    uncertainty = reading.judgement.account.uncertainty  # of the result, which for differences is more than the gauge's
    if gauge is None or value is None or (uncertainty is None and not _counted(reading)):
        return None
    check = found_bad_after(gauge, reading.act.at)
    if check is None:
        return None
    entry, characteristic = reading.act.entry, reading.spec.characteristic
    touching = in_contact(reading.typed)
    used = UsedReading(
        str(entry.id), str(entry.signed.job), characteristic, value, uncertainty, reading.act.at, in_contact=touching
    )
    return next(iter(rejudge(found_bad_of(gauge, check), (used,)).readings), None)


def _counted(reading: ReadingAct) -> bool:
    return reading.spec.characteristic.method is Method.COUNT


def words_of(rejudged: Rejudged, gauge: str) -> str:
    """What was recorded, and what it is with the error of the gauge."""
    wanted = rejudged.reading.characteristic
    recorded = (
        f"{wanted.title}: {gauge} was found bad later. Recorded {shown(rejudged.reading.value, wanted.unit, None)}"
    )
    if rejudged.corrected is None:
        return f"{recorded}; how far it was off is not known."
    truly = shown(rejudged.corrected, wanted.unit, None)
    return f"{recorded}, with its error truly {truly}: {rejudged.corrected_verdict}."
