"""Places a legal hold on records: until a second person lifts it nothing of them is let go."""

from datetime import datetime
from uuid import UUID

from jobs.models.retention import LegalHold
from jobs.services.company_lock import LockKey, wait_for_lock
from shops.domain.access import Grant
from shops.services.create_once import Created, create_once


def place_legal_hold(
    *, grant: Grant, identifier: UUID, job: UUID | None, unit: UUID | None, reason: str, now: datetime
) -> Created[LegalHold]:
    """On a job, a unit, or without either on the whole company. What is decided already is waited for.

    Raises NotFound for a job or unit that is not there, AlreadyExists for a taken id.
    """
    wait_for_lock(grant.company, LockKey.RETENTION)
    row = LegalHold(
        id=identifier,
        company_id=grant.company,
        job_id=job,
        unit_id=unit,
        reason=reason,
        placed_at=now,
        recorded_by=grant.by,
        token=grant.token,
        technician=grant.technician,
    )
    return create_once(row, content=("job_id", "unit_id", "reason"))
