"""Lifts a suspension: the release counts again, if nothing else stands against it."""

from datetime import datetime
from uuid import UUID

from jobs.domain.who_may_end import may_lift
from jobs.models.release import ReleaseSuspension, SuspensionLifting
from jobs.queries.releases import find_release
from jobs.services.raise_availability import raise_availability
from shops.domain.access import Grant
from shops.domain.errors import NotFound, NotPermitted
from shops.services.create_once import Created, Taken, create_once

TAKEN = {
    "suspension_liftings_once": Taken(
        "/id", "The suspension has been lifted already, under another id.", "Read the release."
    )
}


def lift_suspension(
    *, grant: Grant, identifier: UUID, suspension: UUID, reason: str, now: datetime
) -> Created[SuspensionLifting]:
    """Raises NotFound, NotPermitted for a lead where quality has to, AlreadyExists once it is lifted."""
    found = ReleaseSuspension.objects.filter(id=suspension).first()
    if found is None:
        raise NotFound("There is no such suspension.")
    release = find_release(grant, found.release_id)
    if not may_lift(grant, found.recorded_by):
        raise NotPermitted(f"It was placed by {found.recorded_by}; only quality may lift it.")
    row = SuspensionLifting(
        id=identifier,
        company_id=grant.company,
        suspension_id=suspension,
        reason=reason,
        lifted_at=now,
        recorded_by=grant.by,
    )
    created = create_once(row, content=("suspension_id", "reason"), taken=TAKEN)
    if created.is_new:
        raise_availability(grant.company, release["unit"])
    return created
