from django.db import models

from jobs.models.release import ReleaseSuspension
from shops.models.tenant_row import InsideCompany, TenantRow


class Escalation(TenantRow):
    """Append-only: dispatch did not take note of a suspension in time."""

    suspension = InsideCompany(ReleaseSuspension)
    raised_at = models.DateTimeField()

    class Meta:
        db_table = "escalations"
        constraints = [models.UniqueConstraint(fields=["company", "suspension"], name="escalations_once")]
