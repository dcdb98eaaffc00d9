"""Lifts a legal hold on records; not by who placed it."""

from datetime import datetime
from uuid import UUID

from jobs.domain.second_person import is_same_person
from jobs.models.retention import LegalHold, LegalHoldLifting
from jobs.services.company_lock import LockKey, wait_for_lock
from shops.domain.access import Grant
from shops.domain.errors import NotFound, NotPermitted
from shops.services.create_once import Created, Taken, create_once

_TAKEN = {
    "legal_hold_liftings_once": Taken("/id", "The hold has been lifted already, under another id.", "Read the hold.")
}


def lift_legal_hold(
    *, grant: Grant, identifier: UUID, hold: UUID, reason: str, now: datetime
) -> Created[LegalHoldLifting]:
    """Raises NotFound, NotPermitted for who placed it, AlreadyExists once it is lifted."""
    wait_for_lock(grant.company, LockKey.RETENTION)
    found = LegalHold.objects.filter(id=hold).first()
    if found is None:
        raise NotFound("There is no such hold.")
    if is_same_person(grant, token=found.token, technician=found.technician, recorded_by=found.recorded_by):
        raise NotPermitted("A second person lifts a legal hold, not who placed it.")
    row = LegalHoldLifting(
        id=identifier, company_id=grant.company, hold=found, reason=reason, lifted_at=now, recorded_by=grant.by
    )
    return create_once(row, content=("hold_id", "reason"), taken=_TAKEN)
