"""Ends a qualification earlier than it was granted for; the grant itself stays."""

from datetime import datetime
from uuid import UUID

from shops.models.technician import QualificationWithdrawal
from shops.queries.registry_statements import check_statement
from shops.services.create_once import Created, create_once


def withdraw_qualification(
    *,
    company: UUID,
    identifier: UUID,
    qualification: UUID,
    withdrawn_from: datetime,
    reason: str,
    recorded_by: str,
    now: datetime,
    statement: str | None = None,
) -> Created[QualificationWithdrawal]:
    """Raises AlreadyExists for an id that is taken, NotFound for an unknown qualification, BadInput for a statement."""
    row = QualificationWithdrawal(
        id=identifier,
        company_id=company,
        grant_id=qualification,
        withdrawn_from=withdrawn_from,
        reason=reason,
        statement=statement,
        recorded_at=now,
        recorded_by=recorded_by,
    )
    check_statement(statement, row, now)
    return create_once(row, content=("grant_id", "withdrawn_from", "reason", "statement"))
