from django.db import models

from shops.models.tenant_row import TenantRow


class LogKey(TenantRow):
    """Append-only: a key that signs the company's checkpoints, and how it followed the one before."""

    number = models.IntegerField()  # 1 for the first
    vkey = models.TextField()  # C2SP signed-note verifier key
    change = models.TextField(null=True)  # signed note: the key before hands over to this one
    added_at = models.DateTimeField()

    class Meta:
        db_table = "log_keys"
        constraints = [models.UniqueConstraint(fields=["company", "number"], name="log_keys_one_number")]
