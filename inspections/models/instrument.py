from django.db import models

from shops.models.shop import Shop
from shops.models.tenant_row import InsideCompany, TenantRow


class Instrument(TenantRow):
    """A gauge of a shop. Ranges, resolution and expanded uncertainty (k = 2) are quantities as text in `unit`."""

    shop = InsideCompany(Shop)
    code = models.TextField()
    kind = models.TextField()
    unit = models.TextField(null=True)
    range_low = models.TextField(null=True)
    range_high = models.TextField(null=True)
    resolution = models.TextField(null=True)
    uncertainty = models.TextField(null=True)
    version = models.BigIntegerField(default=1)

    class Meta:
        db_table = "instruments"
        constraints = [models.UniqueConstraint(fields=["company", "code"], name="instruments_one_code")]


class Calibration(TenantRow):
    """Append-only: one calibration, with what was found and what was left, per point."""

    instrument = InsideCompany(Instrument)
    performed_at = models.DateTimeField()
    due_at = models.DateTimeField()
    result = models.TextField()
    as_found = models.JSONField(default=list)
    as_left = models.JSONField(default=list)
    certificate = models.TextField()
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "calibrations"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(result__in=["in_tolerance", "adjusted", "failed"]), name="calibrations_result_known"
            ),
        ]
