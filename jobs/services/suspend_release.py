"""Suspends a release: it stops counting until the suspension is lifted."""

from datetime import datetime
from uuid import UUID

from jobs.models.release import ReleaseRevocation, ReleaseSuspension
from jobs.queries.availability import version_of
from jobs.queries.releases import find_release
from jobs.services.raise_availability import raise_availability
from shops.domain.access import Grant
from shops.domain.errors import Conflict
from shops.services.create_once import Created, create_once


def suspend_release(
    *, grant: Grant, identifier: UUID, release: UUID, code: str, reason: str, now: datetime
) -> Created[ReleaseSuspension]:
    """Raises NotFound for a release out of reach, Conflict for a revoked one, AlreadyExists for a taken id."""
    found = find_release(grant, release)
    row = ReleaseSuspension(
        id=identifier,
        company_id=grant.company,
        release_id=release,
        code=code,
        reason=reason,
        suspended_at=now,
        recorded_by=grant.by,
    )
    if not ReleaseSuspension.objects.filter(id=identifier).exists():
        raise_availability(grant.company, found["unit"])
        row.availability_version = version_of(grant.company, found["unit"], now)
    created = create_once(row, content=("release_id", "code", "reason"))
    if created.is_new and ReleaseRevocation.objects.filter(release_id=release).exists():
        raise Conflict("The release is revoked; it does not count, and there is nothing to suspend.")
    return created
