"""What enrolling a key needs to know, before and after the code's company is entered."""

from uuid import UUID

from django.db import connection

from shops.models.access import AccessRevocation, AccessToken
from shops.models.device_key import EnrolmentCode, KeyRevocation
from shops.models.technician import Technician


def enter_by_code(hashed: bytes) -> EnrolmentCode | None:
    """Enter the company of a code for this transaction; None, and no company, for an unknown one."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT enter_by_enrolment_code(%s)", [hashed])
    return EnrolmentCode.objects.filter(code_hash=hashed).first()


def technician_shop(technician: UUID) -> UUID | None:
    shop: UUID | None = Technician.objects.values_list("shop_id", flat=True).get(id=technician)
    return shop


def live_tokens(issued_by: str) -> list[UUID]:
    """The tokens that were issued under this name and are not revoked."""
    revoked = AccessRevocation.objects.values("token_id")
    tokens = AccessToken.objects.filter(issued_by=issued_by).exclude(id__in=revoked)
    return list(tokens.order_by("id").values_list("id", flat=True))


def is_revoked(key: UUID) -> bool:
    return KeyRevocation.objects.filter(key_id=key).exists()
