from django.db import models

from shops.models.shop import Carrier
from shops.models.tenant_row import InsideCompany, TenantRow


class Unit(TenantRow):
    """A tractor or converter dolly. `availability_version` only grows."""

    carrier = InsideCompany(Carrier)
    number = models.TextField()
    vin = models.TextField(null=True)
    vin_check_digit_ok = models.BooleanField(null=True)
    kind = models.TextField()
    version = models.BigIntegerField(default=1)
    availability_version = models.BigIntegerField(default=0)

    class Meta:
        db_table = "units"
        constraints = [
            models.UniqueConstraint(fields=["company", "carrier", "number"], name="units_one_number"),
            models.UniqueConstraint(
                fields=["company", "vin"], name="units_one_vin", condition=models.Q(vin__isnull=False)
            ),
            models.CheckConstraint(condition=models.Q(kind__in=["tractor", "dolly"]), name="units_kind_known"),
        ]


class TopPlate(TenantRow):
    """A casting by its serial: an identity of its own."""

    casting_serial = models.TextField()
    version = models.BigIntegerField(default=1)

    class Meta:
        db_table = "top_plates"
        constraints = [models.UniqueConstraint(fields=["company", "casting_serial"], name="top_plates_one_serial")]


class Coupling(TenantRow):
    """An assembly on a unit, with the top plate that is in it now."""

    model = models.TextField()
    unit = InsideCompany(Unit, null=True)
    top_plate = InsideCompany(TopPlate, null=True)
    version = models.BigIntegerField(default=1)

    class Meta:
        db_table = "couplings"
        constraints = [
            models.UniqueConstraint(
                fields=["company", "top_plate"],
                name="couplings_one_casting_once",
                condition=models.Q(top_plate__isnull=False),
            ),
        ]
