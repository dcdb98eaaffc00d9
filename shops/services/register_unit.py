"""Registers a tractor or dolly."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from shops.domain.errors import BadInput, FieldProblem
from shops.domain.vin import VinError, check_vin
from shops.models.unit import Unit
from shops.services.create_once import Created, Taken, create_once

TAKEN = {
    "units_one_number": Taken(
        "/number", "Another unit of this carrier has this number.", "Look it up, or correct the number."
    ),
    "units_one_vin": Taken("/vin", "Another unit has this VIN.", "Look it up, or read the VIN again."),
}


@dataclass(frozen=True, slots=True)
class UnitRequest:
    id: UUID
    carrier: UUID
    number: str
    vin: str | None
    kind: str


def register_unit(*, company: UUID, request: UnitRequest) -> Created[Unit]:
    """Raises BadInput for what is no VIN, AlreadyExists, NotFound for an unknown carrier."""
    row = Unit(
        id=request.id,
        company_id=company,
        carrier_id=request.carrier,
        number=request.number,
        kind=request.kind,
        **vin_columns(request.vin),
    )
    return create_once(row, content=("carrier_id", "number", "vin", "kind"), taken=TAKEN)


def vin_columns(vin: str | None) -> dict[str, Any]:
    """The VIN in capitals, and whether its check digit is right. Raises BadInput."""
    if vin is None:
        return {"vin": None, "vin_check_digit_ok": None}
    try:
        check = check_vin(vin)
    except VinError as error:
        raise BadInput(problems=[FieldProblem("/vin", error.message, error.cure)]) from None
    return {"vin": check.vin, "vin_check_digit_ok": check.check_digit_ok}
