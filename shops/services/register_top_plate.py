"""Registers a casting by its serial."""

from uuid import UUID

from shops.models.unit import TopPlate
from shops.services.create_once import Created, Taken, create_once

TAKEN = {
    "top_plates_one_serial": Taken(
        "/casting_serial", "Another top plate has this serial.", "Look it up, or read the serial again."
    )
}


def register_top_plate(*, company: UUID, identifier: UUID, casting_serial: str) -> Created[TopPlate]:
    """Raises AlreadyExists for an id or serial that is taken."""
    row = TopPlate(id=identifier, company_id=company, casting_serial=casting_serial)
    return create_once(row, content=("casting_serial",), taken=TAKEN)
