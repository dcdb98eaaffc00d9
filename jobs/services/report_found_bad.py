"""A calibration found a gauge bad: list every reading since its last good check, judge each anew, suspend what fell.

What was recorded stays. Nothing is cleared by this; doing it again answers the same report.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections.domain.found_bad import FoundBadReport, Outcome, Rejudged, found_bad_of, rejudge
from inspections.domain.instruments import CalibrationResult
from inspections.domain.quantities import shown_number
from inspections.models.instrument import Calibration
from jobs.domain.other_uses import OtherUse
from jobs.models import found_bad_report
from jobs.models.release import Release
from jobs.queries.company_facts import CompanyFacts, company_facts, facts_version
from jobs.queries.job_rows import locked_job
from jobs.queries.readings_by_instrument import Doubted, doubted_by
from jobs.services.company_lock import LockKey, wait_for_lock
from jobs.services.derive_again import derive_again
from jobs.services.write_suspension import write_suspension
from shops.domain.errors import Conflict, NotFound
from shops.services.new_id import new_id

SUSPENSION_CODE = "gauge_found_bad"


def report_found_bad(
    *, company: UUID, calibration: UUID, recorded_by: str, now: datetime
) -> tuple[found_bad_report.FoundBadReport, bool]:
    """The report of a calibration that found its instrument bad, and whether it is new. Suspends the releases hit."""
    row = Calibration.objects.select_related("instrument").filter(id=calibration).first()
    if row is None:
        raise NotFound("There is no such calibration.")
    wait_for_lock(company, LockKey.FOUND_BAD)
    existing = found_bad_report.FoundBadReport.objects.filter(calibration_id=calibration).first()
    if existing is not None:
        return existing, False
    if row.result == CalibrationResult.IN_TOLERANCE:
        raise Conflict("That calibration found the instrument good: nothing is in doubt.")
    facts = company_facts(company, facts_version(company))
    for job in _hit(_judge(company, row, facts)[0]):
        locked_job(company, job)
    report, doubted = _judge(company, row, facts)  # again: a release on its way is seen now, later ones see the facts
    _suspend(company, report, row.instrument.code, recorded_by, now)
    for job in _hit(report):
        derive_again(company=company, job=job, facts=facts, now=now)
    made = found_bad_report.FoundBadReport.objects.create(
        id=new_id(now),
        company_id=company,
        calibration_id=calibration,
        document=report_document(report, doubted.uses),
        made_at=now,
        recorded_by=recorded_by,
    )
    return made, True


def _judge(company: UUID, row: Calibration, facts: CompanyFacts) -> tuple[FoundBadReport, Doubted]:
    instrument = facts.facts.instruments[row.instrument.code]
    check = next(
        one for one in instrument.calibrations if one.performed_at == row.performed_at and one.result == row.result
    )
    found = found_bad_of(instrument, check)
    doubted = doubted_by(company, instrument, found, check, facts.facts)
    return rejudge(found, doubted.readings), doubted


def _hit(report: FoundBadReport) -> list[UUID]:
    """Jobs whose readings are no longer what they were; in the order of their ids, as every lock of many jobs."""
    return sorted(
        {UUID(one.reading.job) for one in report.readings if one.outcome in (Outcome.SUSPEND, Outcome.REVIEW)}
    )


def _suspend(company: UUID, report: FoundBadReport, code: str, recorded_by: str, now: datetime) -> None:
    for release in Release.objects.filter(id__in=report.releases_to_suspend).order_by("id"):
        messages = [one.message for one in report.of(Outcome.SUSPEND) if one.reading.release == str(release.id)]
        write_suspension(
            company=company,
            release=release.id,
            unit=release.unit_id,
            code=SUSPENSION_CODE,
            reason=f"{code} was found bad. {' '.join(messages)}",
            recorded_by=recorded_by,
            now=now,
        )


def report_document(report: FoundBadReport, uses: Sequence[OtherUse]) -> dict[str, Any]:
    """What a wrench tightened or a test kingpin showed cannot be judged anew: it is reviewed."""
    suspended = report.releases_to_suspend
    more = (use.release for use in uses if use.release is not None and use.release not in suspended)
    return {
        "instrument": report.instrument,
        "message": report.message,
        "readings": [_reading(one) for one in report.readings],
        "releases_suspended": list(report.releases_to_suspend),
        "releases_to_review": list(dict.fromkeys((*report.releases_to_review, *more))),
        "other_uses": [use.document() for use in uses],
    }


def _reading(one: Rejudged) -> dict[str, Any]:
    reading = one.reading
    return {
        "entry": reading.entry,
        "job": reading.job,
        "characteristic": reading.characteristic.key,
        "performed_at": reading.performed_at.isoformat(),
        "unit": reading.characteristic.unit,
        "recorded": shown_number(reading.value, None),
        "corrected": None if one.corrected is None else shown_number(one.corrected, None),
        "recorded_verdict": one.recorded_verdict.value,
        "corrected_verdict": one.corrected_verdict.value,
        "outcome": one.outcome.value,
        "message": one.message,
        "release": reading.release,
    }
