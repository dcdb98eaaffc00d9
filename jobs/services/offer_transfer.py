"""A lead offers a job, with its unit, to another shop."""

from datetime import datetime
from uuid import UUID

from jobs.models.transfer import Transfer
from jobs.queries.job_reach import reaches_job
from jobs.queries.job_rows import locked_job
from jobs.queries.transfers import open_transfer
from shops.domain.access import Grant
from shops.domain.errors import BadInput, Conflict, FieldProblem, NotFound, not_found_at
from shops.models.shop import Shop
from shops.services.create_once import Created, create_once


def offer_transfer(
    *, grant: Grant, identifier: UUID, job: UUID, to_shop: UUID, reason: str, now: datetime
) -> Created[Transfer]:
    """Raises NotFound; Conflict for a job that is over, or on offer already; BadInput for its own shop."""
    row = locked_job(grant.company, job)
    if row is None or not reaches_job(grant, row):
        raise NotFound("There is no such job.")
    if not Shop.objects.filter(id=to_shop).exists():
        raise not_found_at("/to_shop")
    existing = Transfer.objects.filter(id=identifier).first()
    if existing is None:
        _require_free(grant, job, row.state)
        if row.shop == to_shop:
            detail = "The job is at that shop."
            raise BadInput(detail, problems=[FieldProblem("/to_shop", detail, "Name another shop.")])
    offered = Transfer(
        id=identifier,
        company_id=grant.company,
        job_id=job,
        from_shop_id=row.shop if existing is None else existing.from_shop_id,
        to_shop_id=to_shop,
        reason=reason,
        offered_at=now,
        recorded_by=grant.by,
    )
    return create_once(offered, content=("job_id", "to_shop_id", "reason"))


def _require_free(grant: Grant, job: UUID, state: str) -> None:
    if state != "open":
        raise Conflict(f"The job is {state}; it goes nowhere.")
    waiting = open_transfer(grant.company, job)
    if waiting is not None:
        raise Conflict(f"The job is offered to shop {waiting[1]} already.")
