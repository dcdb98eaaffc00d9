"""Puts a withdrawn instrument back into use, once."""

from datetime import datetime
from uuid import UUID

from inspections.models.instrument import InstrumentReturn
from shops.services.create_once import Created, Taken, create_once

_TAKEN = {
    "instrument_returns_once": Taken(
        "/id", "This withdrawal has ended already.", "Read it; withdraw the instrument anew if need be."
    )
}


def return_instrument(
    *,
    company: UUID,
    identifier: UUID,
    withdrawal: UUID,
    returned_at: datetime,
    reason: str,
    recorded_by: str,
    now: datetime,
) -> Created[InstrumentReturn]:
    """Raises AlreadyExists for an id that is taken or a withdrawal that has ended, NotFound."""
    row = InstrumentReturn(
        id=identifier,
        company_id=company,
        withdrawal_id=withdrawal,
        returned_at=returned_at,
        reason=reason,
        recorded_at=now,
        recorded_by=recorded_by,
    )
    return create_once(row, content=("withdrawal_id", "returned_at", "reason"), taken=_TAKEN)
