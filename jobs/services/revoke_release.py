"""Revokes a release: it never counts again. The unit needs a new rebuild."""

from datetime import datetime
from uuid import UUID

from jobs.models.release import ReleaseRevocation
from jobs.queries.releases import find_release
from jobs.services.raise_availability import raise_availability
from shops.domain.access import Grant
from shops.services.create_once import Created, Taken, create_once

TAKEN = {
    "release_revocations_once": Taken(
        "/id", "The release has been revoked already, under another id.", "Read the release."
    )
}


def revoke_release(
    *, grant: Grant, identifier: UUID, release: UUID, reason: str, now: datetime
) -> Created[ReleaseRevocation]:
    """Raises NotFound for a release out of reach, AlreadyExists once it is revoked."""
    found = find_release(grant, release)
    row = ReleaseRevocation(
        id=identifier,
        company_id=grant.company,
        release_id=release,
        reason=reason,
        revoked_at=now,
        recorded_by=grant.by,
    )
    created = create_once(row, content=("release_id", "reason"), taken=TAKEN)
    if created.is_new:
        raise_availability(grant.company, found["unit"])
    return created
