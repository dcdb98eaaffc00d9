"""A person leaves: in one act all keys end from that time on, and all access tokens now. The past work stays.

Claims of the phones hold no gate any more, since a revoked phone is not waited for; what the phones may still hold is
listed as possibly lost. Somebody who comes back is enrolled anew, with a code that is issued after this.
"""

from datetime import datetime
from uuid import UUID

from shops.models.access import AccessRevocation, AccessToken
from shops.models.device_key import Departure, DeviceKey, KeyRevocation
from shops.services.create_once import Created, create_once
from shops.services.new_id import new_id
from shops.services.revoke_access_token import revoke_access_token
from shops.services.revoke_device_key import revoke_device_key


def record_departure(
    *,
    company: UUID,
    identifier: UUID,
    technician: UUID,
    left_at: datetime,
    reason: str,
    recorded_by: str,
    now: datetime,
) -> Created[Departure]:
    """Raises AlreadyExists for an id that is taken, NotFound for an unknown technician."""
    row = Departure(
        id=identifier,
        company_id=company,
        technician_id=technician,
        left_at=left_at,
        reason=reason,
        recorded_at=now,
        recorded_by=recorded_by,
    )
    created = create_once(row, content=("technician_id", "left_at", "reason"))
    if created.is_new:
        _end_keys(created.row)
        _end_tokens(created.row)
    return created


def _end_keys(departure: Departure) -> None:
    """Every key that was good after the person had left."""
    ended = KeyRevocation.objects.filter(revoked_from__lte=departure.left_at).values("key_id")
    for key in DeviceKey.objects.filter(technician_id=departure.technician_id).exclude(id__in=ended).order_by("id"):
        revoke_device_key(
            key=key,
            identifier=new_id(departure.recorded_at),
            revoked_from=departure.left_at,
            reason=f"left: {departure.reason}",
            recorded_by=departure.recorded_by,
            now=departure.recorded_at,
        )


def _end_tokens(departure: Departure) -> None:
    ended = AccessRevocation.objects.values("token_id")
    for token in AccessToken.objects.filter(technician_id=departure.technician_id).exclude(id__in=ended).order_by("id"):
        revoke_access_token(
            company=departure.company_id,
            identifier=new_id(departure.recorded_at),
            token=token.id,
            reason=f"left: {departure.reason}",
            recorded_by=departure.recorded_by,
            now=departure.recorded_at,
        )
