from django.contrib.postgres.fields import ArrayField
from django.db import models

from jobs.models.job import Job
from shops.models.shop import Shop
from shops.models.technician import Technician
from shops.models.tenant_row import CompanyKey, InsideCompany, TenantRow
from shops.models.unit import Unit


class Entry(TenantRow):
    """Append-only: one signed entry as sent, and the receipt that the server gave it."""

    job = InsideCompany(Job)
    shop = InsideCompany(Shop)
    unit = InsideCompany(Unit)
    position = models.IntegerField()
    kind = models.TextField()
    step = models.TextField(null=True)
    technician = InsideCompany(Technician)
    key = models.TextField()  # thumbprint
    device_seq = models.BigIntegerField()
    performed_at = models.DateTimeField()
    received_at = models.DateTimeField()
    skew_ms = models.BigIntegerField(default=0)  # server clock minus device clock at the sync
    token = models.TextField()  # the compact JWS, byte for byte
    payload = models.TextField()  # its payload, decoded: JSON as signed
    digest = models.BinaryField()  # SHA-256 of the token
    previous = models.BinaryField()
    leaf = models.BinaryField()

    class Meta:
        db_table = "entries"
        constraints = [models.UniqueConstraint(fields=["company", "job", "position"], name="entries_one_position")]
        indexes = [
            models.Index(fields=["company", "key", "device_seq"], name="entries_by_device"),
            models.Index(fields=["company", "received_at", "id"], name="entries_by_arrival"),
            models.Index(
                fields=["company", "technician"], name="entries_corrections", condition=models.Q(kind="correction")
            ),
        ]


class EntryCredit(models.Model):
    """Projection: what the newest derivation gives the entry. Rebuilt from the entries at any time."""

    entry_id = models.UUIDField(primary_key=True)
    company = CompanyKey()
    job = InsideCompany(Job)
    credit = models.BooleanField()
    finding_codes = ArrayField(models.TextField())
    findings = models.JSONField()

    class Meta:
        db_table = "entry_credits"
        indexes = [
            models.Index(fields=["company", "job"], name="entry_credits_by_job"),
        ]
