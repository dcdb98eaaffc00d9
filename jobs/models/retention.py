from django.db import models

from jobs.models.job import Job
from shops.models.tenant_row import InsideCompany, TenantRow
from shops.models.unit import Unit


class LegalHold(TenantRow):
    """Append-only: nothing of a job, of a unit or (without either) of the company is let go until this is lifted."""

    job = InsideCompany(Job, null=True)
    unit = InsideCompany(Unit, null=True)
    reason = models.TextField()
    placed_at = models.DateTimeField()
    recorded_by = models.TextField()
    token = models.UUIDField()
    technician = models.UUIDField(null=True)

    class Meta:
        db_table = "legal_holds"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(job__isnull=True) | models.Q(unit__isnull=True), name="legal_holds_one_thing"
            )
        ]


class LegalHoldLifting(TenantRow):
    """Append-only: a second person lifted a legal hold, and why."""

    hold = InsideCompany(LegalHold)
    reason = models.TextField()
    lifted_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "legal_hold_liftings"
        constraints = [models.UniqueConstraint(fields=["company", "hold"], name="legal_hold_liftings_once")]


class EvidenceDeletion(TenantRow):
    """Append-only: somebody proposes to let evidence files go. `left_control_on` is a day, as the proposer says it."""

    job = InsideCompany(Job)
    digests = models.JSONField()
    reason = models.TextField()
    left_control_on = models.TextField(null=True)
    proposed_at = models.DateTimeField()
    recorded_by = models.TextField()
    token = models.UUIDField()
    technician = models.UUIDField(null=True)

    class Meta:
        db_table = "evidence_deletions"


class EvidenceDeletionDecision(TenantRow):
    """Append-only: a second person approved the deletion, or somebody declined it."""

    deletion = InsideCompany(EvidenceDeletion)
    kind = models.TextField()
    reason = models.TextField(null=True)
    decided_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "evidence_deletion_decisions"
        constraints = [
            models.UniqueConstraint(fields=["company", "deletion"], name="evidence_deletion_decisions_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=["approved", "declined"]), name="evidence_deletion_decisions_kind_known"
            ),
        ]


class EvidenceRemoval(TenantRow):
    """Append-only: the worker took a file, whose deletion was approved, out of the store."""

    deletion = InsideCompany(EvidenceDeletion)
    digest = models.TextField()
    removed_at = models.DateTimeField()

    class Meta:
        db_table = "evidence_removals"
        constraints = [models.UniqueConstraint(fields=["company", "digest"], name="evidence_removals_once")]
