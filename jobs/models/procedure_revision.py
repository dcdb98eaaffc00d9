from django.db import models

from shops.models.tenant_row import TenantRow


class ProcedureRevision(TenantRow):
    """Append-only: a published document, content-addressed by the SHA-256 of its canonical JSON."""

    code = models.TextField()
    revision = models.IntegerField()
    digest = models.TextField()
    title = models.TextField()
    coupling = models.TextField()
    in_force_from = models.DateTimeField()
    safety_critical = models.BooleanField()
    canonical = models.TextField()  # canonical JSON, the bytes that the digest is over
    published_at = models.DateTimeField()
    published_by = models.TextField()

    class Meta:
        db_table = "procedure_revisions"
        constraints = [
            models.UniqueConstraint(fields=["company", "code", "revision"], name="procedure_revisions_one_number"),
            models.UniqueConstraint(fields=["company", "digest"], name="procedure_revisions_one_digest"),
        ]
