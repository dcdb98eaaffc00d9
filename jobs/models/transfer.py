from django.db import models

from jobs.models.job import Job
from shops.models.shop import Shop
from shops.models.tenant_row import InsideCompany, TenantRow


class Transfer(TenantRow):
    """Append-only: a shop offers a job, with its unit, to another shop."""

    job = InsideCompany(Job)
    from_shop = InsideCompany(Shop)
    to_shop = InsideCompany(Shop)
    reason = models.TextField()
    offered_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "transfers"
        indexes = [models.Index(fields=["company", "job"], name="transfers_by_job")]


class TransferAnswer(TenantRow):
    """Append-only: the other shop accepted the job, or either shop said no."""

    transfer = InsideCompany(Transfer)
    accepted = models.BooleanField()
    reason = models.TextField()
    answered_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "transfer_answers"
        constraints = [models.UniqueConstraint(fields=["company", "transfer"], name="transfer_answers_once")]
