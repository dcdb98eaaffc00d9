"""Revokes a device key: from the given time on nothing it signs earns credit. Its access tokens end now."""

from datetime import datetime
from uuid import UUID

from shops.models.device_key import DeviceKey, KeyRevocation
from shops.queries.registry_statements import check_statement
from shops.services.create_once import Created, create_once
from shops.services.enrol_device_key import stop_tokens_of_key


def revoke_device_key(
    *,
    key: DeviceKey,
    identifier: UUID,
    revoked_from: datetime,
    reason: str,
    recorded_by: str,
    now: datetime,
    statement: str | None = None,
) -> Created[KeyRevocation]:
    """Raises AlreadyExists for an id that is taken, BadInput for a statement that is none of this."""
    row = KeyRevocation(
        id=identifier,
        company_id=key.company_id,
        key_id=key.id,
        revoked_from=revoked_from,
        reason=reason,
        statement=statement,
        recorded_at=now,
        recorded_by=recorded_by,
    )
    check_statement(statement, row, now)
    created = create_once(row, content=("key_id", "revoked_from", "reason", "statement"))
    if created.is_new:
        stop_tokens_of_key(key=key, reason=f"key revoked: {reason}", recorded_by=recorded_by, now=now)
    return created
