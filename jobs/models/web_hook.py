from django.contrib.postgres.fields import ArrayField
from django.db import models

from shops.models.tenant_row import InsideCompany, TenantRow


class WebHook(TenantRow):
    """Append-only: events about units' availability go to this address, while the token that registered it works."""

    address = models.TextField()
    label = models.TextField()
    carriers = ArrayField(models.UUIDField())
    registered_at = models.DateTimeField()
    recorded_by = models.TextField()
    token = models.UUIDField(null=True)  # null: registered before hooks named it

    class Meta:
        db_table = "web_hooks"


class WebHookEnding(TenantRow):
    """Append-only: no more events go there."""

    hook = InsideCompany(WebHook)
    reason = models.TextField()
    ended_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "web_hook_endings"
        constraints = [models.UniqueConstraint(fields=["company", "hook"], name="web_hook_endings_once")]


class WebHookDelivery(TenantRow):
    """How far a hook's events have come; its id is the hook's. Working state: neither append-only nor logged."""

    position = models.BigIntegerField()
    delivered_at = models.DateTimeField(null=True)
    failures = models.IntegerField(default=0)
    failing_since = models.DateTimeField(null=True)
    last_failure = models.TextField(null=True)
    next_try_at = models.DateTimeField()

    class Meta:
        db_table = "web_hook_deliveries"
