"""Records that a technician is qualified, from when, until when, and on what evidence."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from shops.domain.qualification import Scope
from shops.models.technician import QualificationGrant
from shops.queries.registry_statements import check_statement
from shops.services.create_once import Created, create_once


@dataclass(frozen=True, slots=True)
class QualificationRequest:
    """`valid_to` None: until it is withdrawn."""

    id: UUID
    scopes: Collection[Scope]
    valid_from: datetime
    valid_to: datetime | None
    evidence: str
    statement: str | None = None


def grant_qualification(
    *, company: UUID, technician: UUID, request: QualificationRequest, recorded_by: str, now: datetime
) -> Created[QualificationGrant]:
    """Raises AlreadyExists for an id that is taken, NotFound for an unknown technician, BadInput for a statement."""
    row = QualificationGrant(
        id=request.id,
        company_id=company,
        technician_id=technician,
        scopes=sorted({scope.value for scope in request.scopes}),
        valid_from=request.valid_from,
        valid_to=request.valid_to,
        evidence=request.evidence,
        statement=request.statement,
        recorded_at=now,
        recorded_by=recorded_by,
    )
    check_statement(request.statement, row, now, subject=technician)
    return create_once(row, content=("technician_id", "scopes", "valid_from", "valid_to", "evidence", "statement"))
