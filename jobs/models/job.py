from django.db import models

from jobs.models.procedure_revision import ProcedureRevision
from shops.models.shop import Shop
from shops.models.tenant_row import InsideCompany, TenantRow
from shops.models.unit import Coupling, TopPlate, Unit


class Job(TenantRow):
    """One rebuild (or follow-up) of one coupling. The chain head and `summary` are projections of its entries."""

    shop = InsideCompany(Shop)
    unit = InsideCompany(Unit)
    coupling = InsideCompany(Coupling)
    top_plate = InsideCompany(TopPlate)
    procedure = InsideCompany(ProcedureRevision)
    purpose = models.TextField(default="rebuild")
    follows_release = models.UUIDField(null=True)  # the release that a follow-up job completes
    reference = models.TextField(null=True)  # the opener's own reference
    opened_at = models.DateTimeField()
    opened_by = models.TextField()
    state = models.TextField(default="open")
    head_position = models.IntegerField(default=0)
    chain_head = models.BinaryField()
    version = models.BigIntegerField(default=1)
    facts_version = models.BigIntegerField(default=0)  # the facts that the projections were derived with
    summary = models.JSONField(default=dict)

    class Meta:
        db_table = "jobs"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=["open", "released", "completed", "condemned", "abandoned"]),
                name="jobs_state_known",
            ),
            models.CheckConstraint(condition=models.Q(purpose__in=["rebuild", "follow_up"]), name="jobs_purpose_known"),
            models.UniqueConstraint(
                fields=["company", "unit"], name="jobs_one_open_per_unit", condition=models.Q(state="open")
            ),
            models.UniqueConstraint(
                fields=["company", "top_plate"],
                name="jobs_one_open_per_casting",
                condition=models.Q(state="open"),
            ),
            models.UniqueConstraint(
                fields=["company", "reference"],
                name="jobs_one_reference",
                condition=models.Q(reference__isnull=False),
            ),
        ]
        indexes = [models.Index(fields=["company", "shop", "state"], name="jobs_by_shop")]


class JobWithdrawal(TenantRow):
    """Append-only: the job was opened by mistake, and was closed before anything was done on it.

    It stands, and the job is abandoned, until an entry comes in after all: then the job is open again.
    """

    job = InsideCompany(Job)
    reason = models.TextField()
    withdrawn_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "job_withdrawals"
        constraints = [models.UniqueConstraint(fields=["company", "job"], name="job_withdrawals_once")]


class Claim(TenantRow):
    """Append-only: a device took the job offline; entries of it may still be on the way."""

    job = InsideCompany(Job)
    key = models.TextField()  # thumbprint
    claimed_at = models.DateTimeField()

    class Meta:
        db_table = "claims"
        indexes = [
            models.Index(fields=["company", "job"], name="claims_by_job"),
            models.Index(fields=["company", "key"], name="claims_by_key"),
        ]


class ClaimEnd(TenantRow):
    """Append-only: the device has synced; `last_sequence` is its newest entry, so a gap shows.

    `reason` where somebody else than the phone's owner did not wait for it.
    """

    claim = InsideCompany(Claim)
    last_sequence = models.BigIntegerField()
    ended_at = models.DateTimeField()
    reason = models.TextField(null=True)
    recorded_by = models.TextField()

    class Meta:
        db_table = "claim_ends"
        constraints = [models.UniqueConstraint(fields=["company", "claim"], name="claim_ends_once")]
