from django.contrib.postgres.fields import ArrayField
from django.db import models

from shops.models.technician import Technician
from shops.models.tenant_row import InsideCompany, TenantRow


class AccessToken(TenantRow):
    """Append-only: a token by its SHA-256, with role and scope. Empty scope arrays mean all."""

    token_hash = models.BinaryField()
    label = models.TextField()
    role = models.TextField()
    technician = InsideCompany(Technician, null=True)
    shops = ArrayField(models.UUIDField(), default=list)
    carriers = ArrayField(models.UUIDField(), default=list)
    records_from = models.DateTimeField(null=True)
    records_to = models.DateTimeField(null=True)
    issued_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    issued_by = models.TextField()

    class Meta:
        db_table = "access_tokens"
        constraints = [
            models.UniqueConstraint(fields=["token_hash"], name="access_tokens_one_hash"),
            models.CheckConstraint(
                condition=models.Q(
                    role__in=[
                        "technician",
                        "lead",
                        "quality",
                        "parts",
                        "instruments",
                        "dispatch",
                        "auditor",
                        "administrator",
                    ]
                ),
                name="access_tokens_role_known",
            ),
        ]


class AccessRevocation(TenantRow):
    """Append-only: a token stops working."""

    token = InsideCompany(AccessToken)
    reason = models.TextField()
    revoked_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "access_revocations"
        indexes = [models.Index(fields=["company", "token"], name="access_revocations_by_token")]


class AccessLogLine(TenantRow):
    """Append-only: a read by an auditor, or an export by anybody: by token, or by a command on the server."""

    token = InsideCompany(AccessToken, null=True)
    command = models.TextField(null=True)
    at = models.DateTimeField()
    request_id = models.TextField()
    method = models.TextField()
    path = models.TextField()
    query = models.TextField()

    class Meta:
        db_table = "access_log"
