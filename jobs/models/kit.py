from django.db import models

from shops.models.shop import Shop
from shops.models.tenant_row import InsideCompany, TenantRow


class Kit(TenantRow):
    """Append-only: a complete set of parts for one coupling model, from one lot."""

    serial = models.TextField()
    lot = models.TextField()
    coupling = models.TextField()
    lines = models.JSONField()
    received_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "kits"
        constraints = [models.UniqueConstraint(fields=["company", "serial"], name="kits_one_serial")]


class KitMovement(TenantRow):
    """Append-only: where a kit went."""

    kit = InsideCompany(Kit)
    kind = models.TextField()  # stocked, issued, returned, quarantined, scrapped
    shop = InsideCompany(Shop, null=True)
    job = models.UUIDField(null=True)
    moved_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "kit_movements"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=["stocked", "issued", "returned", "quarantined", "scrapped"]),
                name="kit_movements_kind_known",
            )
        ]
