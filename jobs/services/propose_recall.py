"""Proposes a recall. Nothing happens to any kit until a second person publishes it."""

from datetime import datetime
from uuid import UUID

from jobs.domain.recall_set import RecallSet, problems_of
from jobs.models.recall import Recall
from shops.domain.access import Grant
from shops.domain.errors import BadInput, FieldProblem
from shops.services.create_once import Created, create_once

_CONTENT = (
    "coupling",
    "lot",
    "serial_from",
    "serial_to",
    "serials",
    "received_from",
    "received_to",
    "supplier_count",
    "reason",
)


def propose_recall(
    *, grant: Grant, identifier: UUID, wanted: RecallSet, supplier_count: int | None, reason: str, now: datetime
) -> Created[Recall]:
    """Raises BadInput for a set that names nothing or contradicts itself, AlreadyExists for a taken id."""
    require_set(wanted)
    row = Recall(
        id=identifier,
        company_id=grant.company,
        coupling=wanted.coupling,
        lot=wanted.lot,
        serial_from=wanted.serial_from,
        serial_to=wanted.serial_to,
        serials=None if wanted.serials is None else sorted(wanted.serials),
        received_from=wanted.received_from,
        received_to=wanted.received_to,
        supplier_count=supplier_count,
        reason=reason,
        proposed_at=now,
        recorded_by=grant.by,
        token=grant.token,
        technician=grant.technician,
    )
    return create_once(row, content=_CONTENT)


def require_set(wanted: RecallSet) -> None:
    """Raises BadInput with everything that is wrong with the set."""
    problems = [
        FieldProblem(f"/{name}" if name else "", why, "Say which kits are meant.") for name, why in problems_of(wanted)
    ]
    if problems:
        raise BadInput(problems=problems)
