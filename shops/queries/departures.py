"""What ended when somebody left."""

from typing import Any

from shops.models.access import AccessRevocation
from shops.models.device_key import Departure, KeyRevocation


def departure_document(departure: Departure) -> dict[str, Any]:
    """The departure, the keys that ended with it, and how many tokens."""
    at, person = departure.recorded_at, departure.technician_id
    keys = KeyRevocation.objects.filter(recorded_at=at, key__technician_id=person).order_by("key__enrolled_at", "id")
    return {
        "id": departure.id,
        "technician": person,
        "left_at": departure.left_at,
        "reason": departure.reason,
        "recorded_at": at,
        "recorded_by": departure.recorded_by,
        "keys": list(keys.values_list("key__thumbprint", flat=True)),
        "tokens": AccessRevocation.objects.filter(revoked_at=at, token__technician_id=person).count(),
    }


def has_left_since(technician: Any, issued_at: Any) -> bool:
    """Whether it was recorded at or after `issued_at` that the person left."""
    return Departure.objects.filter(technician_id=technician, recorded_at__gte=issued_at).exists()
