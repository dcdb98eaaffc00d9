"""Changes a row that its editor has read: the version it was made from must still be the current one."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import F

from shops.domain.errors import NotFound, PreconditionFailed
from shops.models.tenant_row import TenantRow
from shops.services.create_once import Refuses, refuse_conflict


def change_row(
    model: type[TenantRow],
    identifier: UUID,
    *,
    versions: frozenset[int] | None,
    changes: Mapping[str, Any],
    taken: Mapping[str, Refuses] | None = None,
) -> None:
    """Write `changes` and raise the version by one, in one statement, so that of two editors one loses.

    `versions` None accepts any. Raises PreconditionFailed, NotFound, or what `taken` says.
    """
    rows: Any = model._default_manager.filter(id=identifier)  # noqa: SLF001 # Django's public name
    current = rows if versions is None else rows.filter(version__in=versions)
    try:
        with transaction.atomic():
            changed = current.update(**changes, version=F("version") + 1) if changes else current.count()
    except IntegrityError as error:
        refuse_conflict(error, taken or {})
        raise
    if not changed:
        raise PreconditionFailed if rows.exists() else NotFound
