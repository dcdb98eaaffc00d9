from django.db import models

from inspections.models.instrument import Calibration
from shops.models.tenant_row import InsideCompany, TenantRow


class FoundBadReport(TenantRow):
    """Append-only: what a gauge found bad put in doubt, reading by reading, and the releases that it hit."""

    calibration = InsideCompany(Calibration)
    document = models.JSONField()
    made_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "found_bad_reports"
        constraints = [models.UniqueConstraint(fields=["company", "calibration"], name="found_bad_reports_once")]
