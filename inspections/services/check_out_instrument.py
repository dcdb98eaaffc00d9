"""Records who took an instrument. One person has it at a time."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from inspections.models.instrument import CheckOut, Instrument
from inspections.queries.check_outs import open_check_out
from shops.domain.errors import Conflict, FieldProblem, NotFound
from shops.services.create_once import Created, create_once


@dataclass(frozen=True, slots=True)
class CheckOutRequest:
    id: UUID
    technician: UUID
    job: UUID | None
    taken_at: datetime


def check_out_instrument(
    *, company: UUID, instrument: UUID, request: CheckOutRequest, recorded_by: str
) -> Created[CheckOut]:
    """Raises Conflict while somebody has it, AlreadyExists, NotFound for an unknown technician."""
    if not Instrument.objects.select_for_update().filter(id=instrument).exists():
        raise NotFound
    holder = open_check_out(instrument)
    if holder is not None and not CheckOut.objects.filter(id=request.id).exists():
        detail = f"{holder.initials} has had it since {holder.taken_at.isoformat()}."
        raise Conflict(problems=[FieldProblem("", detail, "Check it in first.")])
    row = CheckOut(
        id=request.id,
        company_id=company,
        instrument_id=instrument,
        technician=request.technician,
        job=request.job,
        taken_at=request.taken_at,
        recorded_by=recorded_by,
    )
    return create_once(row, content=("instrument_id", "technician", "job", "taken_at"))
