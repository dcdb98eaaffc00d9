"""Stops a token from working, from now on."""

from datetime import datetime
from uuid import UUID

from shops.models.access import AccessRevocation
from shops.services.create_once import Created, create_once


def revoke_access_token(
    *, company: UUID, identifier: UUID, token: UUID, reason: str, recorded_by: str, now: datetime
) -> Created[AccessRevocation]:
    """Raises AlreadyExists for an id that is taken, NotFound for an unknown token."""
    row = AccessRevocation(
        id=identifier,
        company_id=company,
        token_id=token,
        reason=reason,
        revoked_at=now,
        recorded_by=recorded_by,
    )
    return create_once(row, content=("token_id", "reason"))
