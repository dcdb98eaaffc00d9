"""Takes an instrument out of use from a time on: dropped, damaged, doubted."""

from datetime import datetime
from uuid import UUID

from inspections.models.instrument import InstrumentWithdrawal
from shops.services.create_once import Created, create_once


def withdraw_instrument(
    *,
    company: UUID,
    identifier: UUID,
    instrument: UUID,
    withdrawn_at: datetime,
    reason: str,
    recorded_by: str,
    now: datetime,
) -> Created[InstrumentWithdrawal]:
    """Raises AlreadyExists for an id that is taken, NotFound for an unknown instrument."""
    row = InstrumentWithdrawal(
        id=identifier,
        company_id=company,
        instrument_id=instrument,
        withdrawn_at=withdrawn_at,
        reason=reason,
        recorded_at=now,
        recorded_by=recorded_by,
    )
    return create_once(row, content=("instrument_id", "withdrawn_at", "reason"))
