"""Registers an instrument of a shop."""

from dataclasses import dataclass
from uuid import UUID

from inspections.domain.exact_decimal import exact_decimal
from inspections.domain.instruments import InstrumentKind
from inspections.domain.register import read_specification
from inspections.models.instrument import Instrument
from shops.services.create_once import Created, Taken, create_once

TAKEN = {"instruments_one_code": Taken("/code", "Another instrument has this code.", "Choose another code.")}
_CONTENT = ("shop_id", "code", "kind", "unit", "range_low", "range_high", "resolution", "uncertainty")


@dataclass(frozen=True, slots=True)
class InstrumentRequest:
    """Range, resolution and expanded uncertainty (k = 2) as typed, in `unit`."""

    id: UUID
    shop: UUID
    code: str
    kind: InstrumentKind
    unit: str
    range_low: str
    range_high: str
    resolution: str
    uncertainty: str


def register_instrument(*, company: UUID, request: InstrumentRequest) -> Created[Instrument]:
    """Raises BadInput for what is no quantity, AlreadyExists, NotFound for an unknown shop."""
    typed = {
        "range_low": request.range_low,
        "range_high": request.range_high,
        "resolution": request.resolution,
        "uncertainty": request.uncertainty,
    }
    found = read_specification(request.kind, request.unit, typed)
    row = Instrument(
        id=request.id,
        company_id=company,
        shop_id=request.shop,
        code=request.code,
        kind=found.kind.value,
        unit=found.unit,
        range_low=exact_decimal(found.low),
        range_high=exact_decimal(found.high),
        resolution=exact_decimal(found.resolution),
        uncertainty=exact_decimal(found.uncertainty),
    )
    return create_once(row, content=_CONTENT, taken=TAKEN)
