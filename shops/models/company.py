from django.db import models


class Company(models.Model):
    """The tenant. `facts_version` only grows: it rises with every fact that past work is judged by."""

    id = models.UUIDField(primary_key=True)
    name = models.TextField()
    slug = models.SlugField(unique=True)
    created_at = models.DateTimeField()
    facts_version = models.BigIntegerField(default=0)

    class Meta:
        db_table = "companies"
