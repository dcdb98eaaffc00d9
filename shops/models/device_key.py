from django.db import models

from shops.models.technician import Technician
from shops.models.tenant_row import InsideCompany, TenantRow


class EnrolmentCode(TenantRow):
    """Append-only: a one-time code, kept as its hash. It is used when a key names it."""

    technician = InsideCompany(Technician)
    code_hash = models.BinaryField()
    issued_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    issued_by = models.TextField()

    class Meta:
        db_table = "enrolment_codes"
        constraints = [models.UniqueConstraint(fields=["code_hash"], name="enrolment_codes_one_hash")]


class DeviceKey(TenantRow):
    """Append-only: a phone's public key, enrolled with proof of possession."""

    technician = InsideCompany(Technician)
    enrolment_code = InsideCompany(EnrolmentCode)
    thumbprint = models.TextField()
    algorithm = models.TextField()
    jwk = models.JSONField()
    proof = models.TextField()
    device_name = models.TextField()
    enrolled_at = models.DateTimeField()

    class Meta:
        db_table = "device_keys"
        constraints = [
            models.UniqueConstraint(fields=["company", "thumbprint"], name="device_keys_one_thumbprint"),
            models.UniqueConstraint(fields=["company", "enrolment_code"], name="device_keys_code_used_once"),
        ]


class KeyRevocation(TenantRow):
    """Append-only: from `revoked_from` on, nothing the key signs earns credit."""

    key = InsideCompany(DeviceKey)
    revoked_from = models.DateTimeField()
    reason = models.TextField()
    statement = models.TextField(null=True)  # JWS: the same as somebody signed it
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "key_revocations"


class Departure(TenantRow):
    """Append-only: a person left. Keys and tokens of that person end; codes issued before it enrol nothing more."""

    technician = InsideCompany(Technician)
    left_at = models.DateTimeField()
    reason = models.TextField()
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "departures"
        indexes = [models.Index(fields=["company", "technician"], name="departures_by_person")]
