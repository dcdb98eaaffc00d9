"""Clears a hold on a unit, with a reason."""

from datetime import datetime
from uuid import UUID

from jobs.domain.who_may_end import may_clear
from jobs.models.hold import UnitHold, UnitHoldClearing
from jobs.services.raise_availability import raise_availability
from shops.domain.access import Grant
from shops.domain.errors import NotFound, NotPermitted
from shops.queries.units import find_unit
from shops.services.create_once import Created, Taken, create_once

TAKEN = {
    "unit_hold_clearings_once": Taken("/id", "The hold has been cleared already, under another id.", "Read the hold.")
}


def clear_unit_hold(
    *, grant: Grant, identifier: UUID, hold: UUID, reason: str, now: datetime
) -> Created[UnitHoldClearing]:
    """Raises NotFound, NotPermitted for a role that may not clear it, AlreadyExists once it is cleared."""
    found = UnitHold.objects.filter(id=hold).first()
    if found is None:
        raise NotFound("There is no such hold.")
    find_unit(grant, found.unit_id)
    if not may_clear(grant, found.may_clear):
        raise NotPermitted(f"Only {found.may_clear} may clear this hold.")
    row = UnitHoldClearing(
        id=identifier,
        company_id=grant.company,
        hold_id=hold,
        reason=reason,
        cleared_at=now,
        recorded_by=grant.by,
    )
    created = create_once(row, content=("hold_id", "reason"), taken=TAKEN)
    if created.is_new:
        raise_availability(grant.company, found.unit_id)
    return created
