from typing import Any

from django.db import models


class CompanyKey(models.ForeignKey[Any, Any]):
    """The tenant of a row. The data base's own composite keys hold it together (see migrations)."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("to", "shops.Company")
        kwargs.setdefault("on_delete", models.PROTECT)
        kwargs.setdefault("related_name", "+")
        kwargs.setdefault("db_index", False)  # every key and index begins with the company
        super().__init__(*args, **kwargs)


class InsideCompany(models.ForeignKey[Any, Any]):
    """A reference inside the company: the constraint is a composite one, written in SQL."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("on_delete", models.PROTECT)
        kwargs.setdefault("related_name", "+")
        kwargs["db_constraint"] = False
        kwargs.setdefault("db_index", False)
        super().__init__(*args, **kwargs)

    def deconstruct(self) -> Any:
        name, path, args, kwargs = super().deconstruct()
        kwargs.pop("db_constraint", None)
        return name, path, args, kwargs


class TenantRow(models.Model):
    """A row of one company. Ids are client-chosen UUIDs, unique inside the company."""

    id = models.UUIDField(primary_key=True)
    company = CompanyKey()

    class Meta:
        abstract = True
