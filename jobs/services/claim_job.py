"""A device takes a job offline, and says when it has sent everything."""

from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction

from jobs.models.job import Claim, ClaimEnd
from jobs.queries.company_facts import company_facts
from jobs.queries.job_reach import reaches_job
from jobs.queries.job_rows import job_row
from shops.domain.access import Grant, Role
from shops.domain.errors import AlreadyExists, BadInput, FieldProblem, NotFound, NotPermitted


def claim_job(*, grant: Grant, claim: UUID, job: UUID, key: str, now: datetime) -> tuple[Claim, bool]:
    """The claim, and whether it is new. Until it ends, the job's gate waits for the device.

    Raises NotPermitted for a technician's token with somebody else's phone: its owner would not know of it.
    """
    row = job_row(grant.company, job)
    if row is None or not reaches_job(grant, row):
        raise NotFound("There is no such job.")
    if key not in company_facts(grant.company, grant.facts_version).jwks:
        detail = "No enrolled device key has this thumbprint."
        raise BadInput(detail, problems=[FieldProblem("/key", detail, "Send the thumbprint of the phone's own key.")])
    owner = company_facts(grant.company, grant.facts_version).facts.keys[key].technician
    if grant.role is Role.TECHNICIAN and grant.technician not in {None, owner}:
        raise NotPermitted("A technician claims a job for a phone of his own; a lead for anybody's.")
    made = Claim(id=claim, company_id=grant.company, job_id=job, key=key, claimed_at=now)
    try:
        with transaction.atomic():
            made.save(force_insert=True)
    except IntegrityError:
        existing = Claim.objects.get(id=claim)
        if (existing.job_id, existing.key) != (job, key):
            raise AlreadyExists("A claim with this id but other content exists.") from None
        return existing, False
    return made, True


def end_claim(
    *, grant: Grant, end: UUID, claim: UUID, last_sequence: int, now: datetime, reason: str | None = None
) -> tuple[ClaimEnd, bool]:
    """The device has synced: `last_sequence` is its newest entry, so that a gap before it shows.

    A lead who does not wait for somebody else's device gives a `reason`; BadInput without.
    """
    found = Claim.objects.filter(id=claim).first()
    row = job_row(grant.company, found.job_id) if found else None
    if found is None or row is None or not reaches_job(grant, row):
        raise NotFound("There is no such claim.")
    _refuse_others(grant, found.key, reason)
    made = ClaimEnd(
        id=end,
        company_id=grant.company,
        claim_id=claim,
        last_sequence=last_sequence,
        ended_at=now,
        recorded_by=grant.by,
        reason=reason,
    )
    try:
        with transaction.atomic():
            made.save(force_insert=True)
    except IntegrityError:
        existing = ClaimEnd.objects.filter(claim_id=claim).first()
        if existing is None or (existing.last_sequence, existing.reason) != (last_sequence, reason):
            raise AlreadyExists("The claim has ended already, with another last sequence or reason.") from None
        return existing, False
    return made, True


def _refuse_others(grant: Grant, key: str, reason: str | None) -> None:
    """What a phone still holds is for its owner to send; a lead may decide not to wait for it, and says why."""
    if grant.technician == company_facts(grant.company, grant.facts_version).facts.keys[key].technician:
        return
    if grant.role is not Role.TECHNICIAN:
        if reason is None:
            detail = "Somebody else's phone is not waited for without a reason."
            raise BadInput(detail, problems=[FieldProblem("/reason", detail, "Say why it is not waited for.")])
        return
    raise NotPermitted("A claim is ended by the owner of the phone, once it has sent everything, or by a lead.")
