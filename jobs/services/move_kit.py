"""Records where a kit went: to the shelf, to a job, back, aside, or to scrap."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from jobs.domain.kit_whereabouts import KitState, kit_state
from jobs.models.kit import Kit, KitMovement
from jobs.queries.company_facts import company_facts, facts_version
from jobs.queries.job_reach import reaches_job
from jobs.queries.job_rows import job_row
from jobs.queries.job_with_kit import job_with_kit
from jobs.queries.recalled_kits import is_recalled, kits_at
from jobs.services.company_lock import LockKey, wait_for_lock
from shops.domain.access import Grant
from shops.domain.errors import BadInput, Conflict, FieldProblem, NotFound, not_found_at
from shops.models.shop import Shop
from shops.services.create_once import Created, create_once

_CONTENT = ("kit_id", "kind", "shop_id", "job")
_OF_A_RECALLED = frozenset({"quarantined", "scrapped"})


@dataclass(frozen=True, slots=True)
class MovementRequest:
    """`job` only with the kind `issued`, and there it may be None: nobody knows yet."""

    id: UUID
    kit: UUID
    kind: str
    shop: UUID | None = None
    job: UUID | None = None


def move_kit(*, grant: Grant, request: MovementRequest, now: datetime) -> Created[KitMovement]:
    """Raises NotFound, BadInput, Conflict for a movement that cannot be, AlreadyExists for a taken id."""
    wait_for_lock(grant.company, LockKey.KITS)
    kit = Kit.objects.filter(id=request.kit).first()
    if kit is None:
        raise NotFound("There is no such kit.")
    _require_reached(grant, request)
    row = KitMovement(
        id=request.id,
        company_id=grant.company,
        kit_id=request.kit,
        kind=request.kind,
        shop_id=request.shop,
        job=request.job,
        moved_at=now,
        recorded_by=grant.by,
    )
    if not KitMovement.objects.filter(id=request.id).exists():
        _require_possible(request)
        _require_not_fitted(grant, kit.serial, request)
    return create_once(row, content=_CONTENT)


def _require_reached(grant: Grant, request: MovementRequest) -> None:
    if request.shop is not None:
        known = Shop.objects.filter(id=request.shop).exists()
        if not known or not grant.reaches_shop(request.shop):
            raise not_found_at("/shop")
    if request.job is None:
        return
    if request.kind != "issued":
        detail = "Only a kit that is issued goes to a job."
        raise BadInput(detail, problems=[FieldProblem("/job", detail, "Leave it out.")])
    job = job_row(grant.company, request.job)
    if job is None or not reaches_job(grant, job):
        raise not_found_at("/job")
    if job.state != "open":
        raise Conflict(f"The job is {job.state}; no kit goes into it.")


def _require_possible(request: MovementRequest) -> None:
    last = KitMovement.objects.filter(kit_id=request.kit).order_by("-moved_at", "-id").first()
    if last is not None and last.kind == "scrapped":
        raise Conflict("The kit is scrapped; it goes nowhere any more.")
    if request.kind not in _OF_A_RECALLED and is_recalled(request.kit):
        raise Conflict("The kit is recalled: it is quarantined or scrapped, and nothing else.")
    is_taken = last is not None and last.kind == "issued" and last.job not in {None, request.job}
    if request.kind == "issued" and is_taken:
        raise Conflict("The kit is issued to another job; take it back first.")


def _require_not_fitted(grant: Grant, serial: str, request: MovementRequest) -> None:
    """What is in a released coupling is not put back into circulation; that it was put aside or scrapped is noted."""
    if request.kind in _OF_A_RECALLED:
        return
    facts = company_facts(grant.company, facts_version(grant.company)).facts
    for at in kits_at([request.kit]):
        if at.is_revoked or at.release is None:
            continue
        if kit_state(at.last_move, job_with_kit(grant.company, serial, at, facts)) is KitState.FITTED:
            raise Conflict(f"The kit is fitted in unit {at.unit_number}, which was released with it.")
