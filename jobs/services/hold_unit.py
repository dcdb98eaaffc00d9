"""Holds a unit from outside a job: it does not go anywhere until the hold is cleared."""

from datetime import datetime
from uuid import UUID

from jobs.domain.who_may_end import LEGAL_HOLD, clearing_role
from jobs.models.hold import UnitHold
from jobs.services.raise_availability import raise_availability
from shops.domain.access import Grant, Role
from shops.domain.errors import BadInput, FieldProblem
from shops.queries.units import find_unit
from shops.services.create_once import Created, create_once


def hold_unit(
    *,
    grant: Grant,
    identifier: UUID,
    unit: UUID,
    kind: str,
    reason: str,
    may_clear: Role | None,
    now: datetime,
    incident_at: datetime | None = None,
) -> Created[UnitHold]:
    """`incident_at` is when that happened for which the unit is kept as evidence, if it is known.

    Raises NotFound for a unit out of reach, BadInput when less than the kind's role may clear it, or for an incident
    that has not happened or that is not a legal hold's.
    """
    find_unit(grant, unit)
    _require_incident(kind, incident_at, now)
    try:
        role = clearing_role(kind, grant.role, may_clear)
    except ValueError as error:
        raise BadInput(problems=[FieldProblem("/may_clear", str(error), "Send quality, or leave it out.")]) from None
    row = UnitHold(
        id=identifier,
        company_id=grant.company,
        unit_id=unit,
        kind=kind,
        reason=reason,
        may_clear=role.value,
        held_at=now,
        incident_at=incident_at,
        recorded_by=grant.by,
    )
    created = create_once(row, content=("unit_id", "kind", "reason", "may_clear", "incident_at"))
    if created.is_new:
        raise_availability(grant.company, unit)
    return created


def _require_incident(kind: str, incident_at: datetime | None, now: datetime) -> None:
    if incident_at is None:
        return
    detail, cure = "", "Say when it happened, or leave it out."
    if kind != LEGAL_HOLD:
        detail, cure = "Only a legal hold has an incident.", "Leave it out, or place a legal hold."
    elif incident_at > now:
        detail = "The incident has not happened yet."
    if detail:
        raise BadInput(detail, problems=[FieldProblem("/incident_at", detail, cure)])
