"""Registers a person who signs entries."""

from dataclasses import dataclass
from uuid import UUID

from shops.models.technician import Technician
from shops.services.create_once import Created, Taken, create_once

TAKEN = {
    "technicians_one_initials": Taken(
        "/initials", "Another technician has these initials.", "Add a letter or a digit, such as RM2."
    )
}


@dataclass(frozen=True, slots=True)
class TechnicianRequest:
    id: UUID
    shop: UUID | None
    initials: str
    display_name: str


def register_technician(*, company: UUID, request: TechnicianRequest) -> Created[Technician]:
    """Raises AlreadyExists for an id or initials that are taken, NotFound for an unknown shop."""
    row = Technician(
        id=request.id,
        company_id=company,
        shop_id=request.shop,
        initials=request.initials,
        display_name=request.display_name,
    )
    return create_once(row, content=("shop_id", "initials", "display_name"), taken=TAKEN)
