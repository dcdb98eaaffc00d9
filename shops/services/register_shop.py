"""Registers a shop."""

from dataclasses import dataclass
from uuid import UUID

from shops.models.shop import Shop
from shops.services.create_once import Created, Taken, create_once

TAKEN = {"shops_one_code": Taken("/code", "Another shop has this code.", "Choose another code.")}


@dataclass(frozen=True, slots=True)
class ShopRequest:
    id: UUID
    code: str
    name: str
    time_zone: str
    length_unit: str


def register_shop(*, company: UUID, request: ShopRequest) -> Created[Shop]:
    """Raises AlreadyExists for an id or code that is taken."""
    row = Shop(
        id=request.id,
        company_id=company,
        code=request.code,
        name=request.name,
        time_zone=request.time_zone,
        length_unit=request.length_unit,
    )
    return create_once(row, content=("code", "name", "time_zone", "length_unit"), taken=TAKEN)
