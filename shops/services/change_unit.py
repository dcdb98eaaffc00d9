"""Changes a unit's carrier, number or VIN."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from shops.models.unit import Unit
from shops.services.change_row import change_row
from shops.services.register_unit import TAKEN, vin_columns


def change_unit(*, unit: UUID, versions: frozenset[int] | None, changes: Mapping[str, Any]) -> None:
    """`changes` may hold carrier, number, vin. Raises as `change_row`, and BadInput for what is no VIN."""
    columns = dict(changes)
    if "vin" in columns:
        columns |= vin_columns(columns["vin"])
    if "carrier" in columns:
        columns["carrier_id"] = columns.pop("carrier")
    change_row(Unit, unit, versions=versions, changes=columns, taken=TAKEN)
