"""Registers a carrier."""

from uuid import UUID

from shops.models.shop import Carrier
from shops.services.create_once import Created, Taken, create_once

TAKEN = {"carriers_one_name": Taken("/name", "Another carrier has this name.", "Use that one, or tell them apart.")}


def register_carrier(*, company: UUID, identifier: UUID, name: str) -> Created[Carrier]:
    """Raises AlreadyExists for an id or name that is taken."""
    return create_once(Carrier(id=identifier, company_id=company, name=name), content=("name",), taken=TAKEN)
