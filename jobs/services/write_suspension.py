"""Writes a suspension with the availability version that it makes: what dispatch acknowledges, or does not in time."""

from datetime import datetime
from uuid import UUID

from jobs.models.release import ReleaseSuspension
from jobs.queries.availability import version_of
from jobs.services.raise_availability import raise_availability
from shops.services.new_id import new_id

THE_RECORD = "the record"


def write_suspension(
    *, company: UUID, release: UUID, unit: UUID, code: str, reason: str, recorded_by: str, now: datetime
) -> ReleaseSuspension:
    """The suspension of a release that the record itself has a ground for; nobody asked whether it may."""
    raise_availability(company, unit)
    return ReleaseSuspension.objects.create(
        company_id=company,
        id=new_id(now),
        release_id=release,
        code=code,
        reason=reason,
        suspended_at=now,
        availability_version=version_of(company, unit, now),
        recorded_by=recorded_by,
    )
