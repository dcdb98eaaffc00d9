from django.db import models

from inspections.domain.instruments import CalibrationResult, InstrumentKind
from shops.models.shop import Shop
from shops.models.tenant_row import InsideCompany, TenantRow


class Instrument(TenantRow):
    """A gauge of a shop. Range, resolution and expanded uncertainty (k = 2) are exact decimals as text, in `unit`."""

    shop = InsideCompany(Shop)
    code = models.TextField()
    kind = models.TextField()
    unit = models.TextField()
    range_low = models.TextField()
    range_high = models.TextField()
    resolution = models.TextField()
    uncertainty = models.TextField()
    version = models.BigIntegerField(default=1)

    class Meta:
        db_table = "instruments"
        constraints = [
            models.UniqueConstraint(fields=["company", "code"], name="instruments_one_code"),
            models.CheckConstraint(
                condition=models.Q(kind__in=[kind.value for kind in InstrumentKind]), name="instruments_kind_known"
            ),
        ]


class Calibration(TenantRow):
    """Append-only: one calibration, with what was found and what was left, per point."""

    instrument = InsideCompany(Instrument)
    performed_at = models.DateTimeField()
    due_at = models.DateTimeField()
    result = models.TextField()
    as_found = models.JSONField(default=list)
    as_left = models.JSONField(default=list)
    certificate = models.TextField()
    statement = models.TextField(null=True)  # JWS: the same as somebody signed it
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "calibrations"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(result__in=[result.value for result in CalibrationResult]),
                name="calibrations_result_known",
            ),
        ]


class InstrumentWithdrawal(TenantRow):
    """Append-only: an instrument is out of use (dropped, damaged, found bad)."""

    instrument = InsideCompany(Instrument)
    withdrawn_at = models.DateTimeField()
    reason = models.TextField()
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "instrument_withdrawals"


class InstrumentReturn(TenantRow):
    """Append-only: a withdrawn instrument is back in use."""

    withdrawal = InsideCompany(InstrumentWithdrawal)
    returned_at = models.DateTimeField()
    reason = models.TextField()
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "instrument_returns"
        constraints = [models.UniqueConstraint(fields=["company", "withdrawal"], name="instrument_returns_once")]


class CheckOut(TenantRow):
    """Append-only: who took an instrument, for which job if any."""

    instrument = InsideCompany(Instrument)
    technician = models.UUIDField()
    job = models.UUIDField(null=True)
    taken_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "check_outs"


class CheckIn(TenantRow):
    """Append-only: an instrument came back."""

    check_out = InsideCompany(CheckOut)
    brought_at = models.DateTimeField()
    condition = models.TextField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "check_ins"
        constraints = [models.UniqueConstraint(fields=["company", "check_out"], name="check_ins_once")]
