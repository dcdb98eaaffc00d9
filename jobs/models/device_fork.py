from django.db import models

from jobs.models.entry import Entry
from jobs.models.job import Job
from shops.models.tenant_row import InsideCompany, TenantRow


class DeviceFork(TenantRow):
    """Append-only: a phone signed one number on two jobs. Written when the second of the two gets its place in the log.

    Everything in it follows from the two entries; it is a row so that it is a fact, with its own place in the log.
    """

    key = models.TextField()  # thumbprint
    number = models.BigIntegerField()
    first = InsideCompany(Entry)  # that came in first
    first_job = InsideCompany(Job)
    second = InsideCompany(Entry)
    second_job = InsideCompany(Job)
    since = models.DateTimeField()  # when the second came in

    class Meta:
        db_table = "device_forks"
        constraints = [models.UniqueConstraint(fields=["company", "first", "second"], name="device_forks_once")]
