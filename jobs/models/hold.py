from django.db import models

from shops.models.tenant_row import InsideCompany, TenantRow
from shops.models.unit import Unit


class UnitHold(TenantRow):
    """Append-only: a unit is held from outside a job (legal hold, recall, a lead's order)."""

    unit = InsideCompany(Unit)
    kind = models.TextField()
    reason = models.TextField()
    may_clear = models.TextField()  # the role that may clear it
    held_at = models.DateTimeField()
    incident_at = models.DateTimeField(null=True)  # of a legal hold: when what happened happened
    recorded_by = models.TextField()

    class Meta:
        db_table = "unit_holds"


class UnitHoldClearing(TenantRow):
    """Append-only: who cleared a hold, and why."""

    hold = InsideCompany(UnitHold)
    reason = models.TextField()
    cleared_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "unit_hold_clearings"
        constraints = [models.UniqueConstraint(fields=["company", "hold"], name="unit_hold_clearings_once")]
