"""Records that an instrument came back, and in what condition."""

from datetime import datetime
from uuid import UUID

from inspections.models.instrument import CheckIn
from shops.services.create_once import Created, Taken, create_once

_TAKEN = {"check_ins_once": Taken("/id", "It was checked in already.", "Read the check-out.")}


def check_in_instrument(
    *, company: UUID, identifier: UUID, check_out: UUID, brought_at: datetime, condition: str, recorded_by: str
) -> Created[CheckIn]:
    """Raises AlreadyExists for an id that is taken or a check-out that has ended, NotFound."""
    row = CheckIn(
        id=identifier,
        company_id=company,
        check_out_id=check_out,
        brought_at=brought_at,
        condition=condition,
        recorded_by=recorded_by,
    )
    return create_once(row, content=("check_out_id", "brought_at", "condition"), taken=_TAKEN)
