"""Registers a coupling: an assembly, on a unit or not, with its top plate or without."""

from dataclasses import dataclass
from uuid import UUID

from shops.models.unit import Coupling
from shops.services.create_once import Created, Taken, create_once

TAKEN = {
    "couplings_one_casting_once": Taken(
        "/top_plate", "This top plate is in another coupling.", "Take it out there first: set top_plate to null."
    )
}


@dataclass(frozen=True, slots=True)
class CouplingRequest:
    id: UUID
    model: str
    unit: UUID | None = None
    top_plate: UUID | None = None


def register_coupling(*, company: UUID, request: CouplingRequest) -> Created[Coupling]:
    """Raises AlreadyExists, NotFound for an unknown unit or top plate."""
    row = Coupling(
        id=request.id,
        company_id=company,
        model=request.model,
        unit_id=request.unit,
        top_plate_id=request.top_plate,
    )
    return create_once(row, content=("model", "unit_id", "top_plate_id"), taken=TAKEN)
