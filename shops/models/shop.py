from django.db import models

from shops.models.tenant_row import TenantRow


class Shop(TenantRow):
    code = models.TextField()
    name = models.TextField()
    time_zone = models.TextField()
    length_unit = models.TextField(default="in")
    version = models.BigIntegerField(default=1)

    class Meta:
        db_table = "shops"
        constraints = [models.UniqueConstraint(fields=["company", "code"], name="shops_one_code")]


class Carrier(TenantRow):
    """Who owns units."""

    name = models.TextField()
    version = models.BigIntegerField(default=1)

    class Meta:
        db_table = "carriers"
        constraints = [models.UniqueConstraint(fields=["company", "name"], name="carriers_one_name")]
