from django.db import models

from shops.models.tenant_row import InsideCompany, TenantRow
from shops.models.unit import Unit


class AvailabilityChange(TenantRow):
    """Append-only: something happened that may have changed a unit's availability. Its log position orders it."""

    unit = InsideCompany(Unit)
    changed_at = models.DateTimeField()

    class Meta:
        db_table = "availability_changes"
        indexes = [models.Index(fields=["company", "unit", "changed_at"], name="availability_changes_by_unit")]
