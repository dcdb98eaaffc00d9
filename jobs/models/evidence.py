from django.db import models

from jobs.models.job import Job
from shops.models.tenant_row import InsideCompany, TenantRow


class EvidenceFile(TenantRow):
    """Append-only: a file arrived whole and was stored under its digest, first for this job."""

    digest = models.TextField()  # SHA-256, hex
    size = models.BigIntegerField()
    media_type = models.TextField()  # as sniffed
    job = InsideCompany(Job)
    received_at = models.DateTimeField()
    recorded_by = models.TextField()
    token = models.UUIDField()
    technician = models.UUIDField(null=True)

    class Meta:
        db_table = "evidence_files"
        constraints = [
            models.UniqueConstraint(fields=["company", "digest"], name="evidence_files_once"),
            models.CheckConstraint(condition=models.Q(digest__regex="^[0-9a-f]{64}$"), name="evidence_files_digest"),
            models.CheckConstraint(condition=models.Q(size__gt=0), name="evidence_files_not_empty"),
        ]


class EvidenceUpload(TenantRow):
    """A file on its way: how much of it has come. Deleted when it is cancelled or forgotten."""

    job = InsideCompany(Job)
    digest = models.TextField()
    media_type = models.TextField(null=True)  # as declared
    length = models.BigIntegerField(null=True)
    received = models.BigIntegerField(default=0)
    token = models.UUIDField()
    technician = models.UUIDField(null=True)
    begun_at = models.DateTimeField()
    touched_at = models.DateTimeField()
    completed_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "evidence_uploads"
        constraints = [
            models.UniqueConstraint(
                fields=["company", "job", "digest", "token"],
                name="evidence_uploads_one_open",
                condition=models.Q(completed_at__isnull=True),
            ),
        ]
        indexes = [models.Index(fields=["company", "touched_at"], name="evidence_uploads_by_age")]


class EvidenceUploadPart(TenantRow):
    """A part of a file on its way, committed before it is acknowledged. Deleted when the file is whole."""

    upload = InsideCompany(EvidenceUpload)
    start = models.BigIntegerField()
    content = models.BinaryField()

    class Meta:
        db_table = "evidence_upload_parts"
        constraints = [
            models.UniqueConstraint(fields=["company", "upload", "start"], name="evidence_upload_parts_one_start")
        ]
