from django.contrib.postgres.fields import ArrayField
from django.db import models

from shops.models.shop import Shop
from shops.models.tenant_row import InsideCompany, TenantRow


class Technician(TenantRow):
    """A person who signs entries; kept by initials, so that the record names nobody needlessly."""

    shop = InsideCompany(Shop, null=True)
    initials = models.TextField()
    display_name = models.TextField()
    version = models.BigIntegerField(default=1)

    class Meta:
        db_table = "technicians"
        constraints = [models.UniqueConstraint(fields=["company", "initials"], name="technicians_one_initials")]


class QualificationGrant(TenantRow):
    """Append-only: scopes held from one time until another (open-ended when null)."""

    technician = InsideCompany(Technician)
    scopes = ArrayField(models.TextField())
    valid_from = models.DateTimeField()
    valid_to = models.DateTimeField(null=True)
    evidence = models.TextField()
    statement = models.TextField(null=True)  # JWS: the same as somebody signed it
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "qualification_grants"
        indexes = [models.Index(fields=["company", "technician"], name="qualification_grants_person")]


class QualificationWithdrawal(TenantRow):
    """Append-only: a grant ends earlier than it said."""

    grant = InsideCompany(QualificationGrant)
    withdrawn_from = models.DateTimeField()
    reason = models.TextField()
    statement = models.TextField(null=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "qualification_withdrawals"
