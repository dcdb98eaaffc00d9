"""Closes a job that was opened by mistake: nothing was done on it, and the unit is what it was before."""

from datetime import datetime
from uuid import UUID

from django.db.models import F

from jobs.models.job import Job, JobWithdrawal
from jobs.queries.claims import device_claims
from jobs.queries.company_facts import company_facts
from jobs.queries.job_reach import reaches_job
from jobs.queries.job_rows import JobRow, locked_job
from jobs.queries.job_withdrawals import kits_issued_to
from jobs.services.company_lock import LockKey, wait_for_lock
from jobs.services.raise_availability import raise_availability
from shops.domain.access import Grant
from shops.domain.errors import Conflict, NotFound
from shops.services.create_once import Created, create_once


def withdraw_job(*, grant: Grant, identifier: UUID, job: UUID, reason: str, now: datetime) -> Created[JobWithdrawal]:
    """Raises NotFound; AlreadyExists for a taken id; Conflict for a job that has an entry, is over, or is not let go.

    Not let go is what a phone has offline, or parts issued a kit to: somebody may be at work on it.
    """
    wait_for_lock(grant.company, LockKey.KITS)  # before the job, as a recall takes them; no kit goes to it meanwhile
    row = locked_job(grant.company, job)
    if row is None or not reaches_job(grant, row):
        raise NotFound("There is no such job.")
    if not JobWithdrawal.objects.filter(id=identifier).exists():
        _require_untouched(grant, row)
    made = JobWithdrawal(
        id=identifier, company_id=grant.company, job_id=job, reason=reason, withdrawn_at=now, recorded_by=grant.by
    )
    created = create_once(made, content=("job_id", "reason"))
    if created.is_new:
        Job.objects.filter(id=job).update(state="abandoned", version=F("version") + 1)
        raise_availability(grant.company, row.unit)
    return created


def _require_untouched(grant: Grant, job: JobRow) -> None:
    if job.head_position:
        number = f"{job.head_position} {'entry' if job.head_position == 1 else 'entries'}"
        raise Conflict(
            f"The job has {number}: something was done on the unit. Finish the job, condemn its casting if that is "
            "bad, or offer the job to another shop."
        )
    if job.state != "open":
        raise Conflict(f"The job is {job.state} already.")
    facts = company_facts(grant.company, grant.facts_version).facts
    holders = [claim.initials for claim in device_claims(grant.company, job.id, facts) if claim.open]
    if holders:
        raise Conflict(
            f"Somebody may be at work on it offline: the phone of {', '.join(holders)} holds a claim. It syncs and "
            "ends its claim, or a lead ends that with a reason."
        )
    kits = kits_issued_to(grant.company, job.id)
    if kits:
        raise Conflict(f"Issued to the job: kit {', '.join(kits)}. Parts books it back first (a movement `returned`).")
