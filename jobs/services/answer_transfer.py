"""The other shop accepts a job that was offered, and has it; or either shop declines, and it stays."""

from datetime import datetime
from uuid import UUID

from django.db.models import F

from jobs.models.job import Job
from jobs.models.transfer import Transfer, TransferAnswer
from jobs.queries.job_reach import is_between_dates
from jobs.queries.job_rows import JobRow, locked_job
from jobs.queries.transfers import transfer_row
from jobs.services.raise_availability import raise_availability
from shops.domain.access import Grant
from shops.domain.errors import Conflict, NotFound, NotPermitted
from shops.services.create_once import Created, Taken, create_once

TAKEN = {"transfer_answers_once": Taken("/id", "The offer has been answered already, under another id.", "Read it.")}
_CONTENT = ("transfer_id", "accepted", "reason")


def accept_transfer(
    *, grant: Grant, identifier: UUID, transfer: UUID, reason: str, now: datetime
) -> Created[TransferAnswer]:
    """Raises NotFound; NotPermitted for who is not of the other shop, or made the offer; Conflict for a job over."""
    offer, job = _offer(grant, transfer)
    if not grant.reaches_shop(offer.to_shop_id):
        raise NotPermitted("A lead of the shop that the job is offered to accepts it.")
    if offer.recorded_by.partition(": ")[2] == grant.label:  # whatever the role of either token
        raise NotPermitted("Who offered the job does not accept it: there is somebody on each side.")
    created = _answer(grant, identifier, offer, accepted=True, reason=reason, now=now)
    if created.is_new:
        if job.state != "open":
            raise Conflict(f"The job is {job.state}; it goes nowhere.")
        Job.objects.filter(id=job.id).update(shop_id=offer.to_shop_id, version=F("version") + 1)
        raise_availability(grant.company, job.unit)
    return created


def decline_transfer(
    *, grant: Grant, identifier: UUID, transfer: UUID, reason: str, now: datetime
) -> Created[TransferAnswer]:
    """By either shop. Raises NotFound, AlreadyExists once it is answered otherwise."""
    offer, _ = _offer(grant, transfer)
    return _answer(grant, identifier, offer, accepted=False, reason=reason, now=now)


def _offer(grant: Grant, transfer: UUID) -> tuple[Transfer, JobRow]:
    """The offer and its job, locked; to both of its shops, and to nobody else."""
    offer = transfer_row(transfer)
    job = locked_job(grant.company, offer.job_id) if offer is not None else None
    if offer is None or job is None or not _is_reached(grant, offer, job):
        raise NotFound("There is no such transfer.")
    return offer, job


def _is_reached(grant: Grant, offer: Transfer, job: JobRow) -> bool:
    is_of_it = grant.reaches_shop(offer.from_shop_id) or grant.reaches_shop(offer.to_shop_id)
    return is_of_it and grant.reaches_carrier(job.carrier) and is_between_dates(grant, job.id, job.opened_at)


def _answer(
    grant: Grant, identifier: UUID, offer: Transfer, *, accepted: bool, reason: str, now: datetime
) -> Created[TransferAnswer]:
    row = TransferAnswer(
        id=identifier,
        company_id=grant.company,
        transfer_id=offer.id,
        accepted=accepted,
        reason=reason,
        answered_at=now,
        recorded_by=grant.by,
    )
    return create_once(row, content=_CONTENT, taken=TAKEN)
