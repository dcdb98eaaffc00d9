"""Release a job: the gate is asked, every unmet condition is listed, and only an open gate takes the document."""

from datetime import datetime
from typing import cast
from uuid import UUID

from jobs.domain.act_order import as_datetime, corrected_time
from jobs.domain.bench import Bench
from jobs.domain.entry import ReleaseBody
from jobs.domain.fold import Fold
from jobs.domain.gate import (
    Blocker,
    dated_too_early,
    missing_photos,
    unmet_by_now,
    unmet_outside_the_record,
    unqualified_signer,
)
from jobs.domain.intervals import follow_up_due, next_inspection_due
from jobs.domain.transfer import transfer_open
from jobs.models.release import Condemnation, Release
from jobs.queries.claims import device_claims
from jobs.queries.company_facts import CompanyFacts, company_facts, facts_version
from jobs.queries.folds import take_fold
from jobs.queries.job_entries import stored_entries
from jobs.queries.job_reach import reaches_job
from jobs.queries.job_rows import JobRow, locked_job
from jobs.queries.photos_awaited import photos_awaited
from jobs.queries.transfers import open_transfer
from jobs.services.follow_through import record_verification
from jobs.services.raise_availability import raise_availability
from jobs.services.receive_entry import ReceivedEntry, receive_entry, refuse_unknown_step, skew_of
from jobs.services.record_entries import Recorded, recorded_again, store_on_job
from jobs.services.require_undated import require_undated
from shops.domain.access import Grant
from shops.domain.errors import (
    AlreadyExists,
    ChainHeadMoved,
    Conflict,
    GateClosed,
    NotFound,
)


def release_job(*, grant: Grant, token: bytes, device_time: datetime | None, now: datetime) -> tuple[Release, Recorded]:
    """Store a signed release over the chain head. GateClosed lists everything that is unmet."""
    facts = company_facts(grant.company, grant.facts_version)
    received = receive_entry(token, facts, skew=skew_of(device_time, now), now=now, releases=True)
    body = cast("ReleaseBody", received.entry.body)
    job = locked_job(grant.company, received.entry.signed.job)
    if job is None or not reaches_job(grant, job):
        raise NotFound("There is no such job.")
    require_undated(grant)
    facts = company_facts(grant.company, facts_version(grant.company))  # as they are now that the job is locked
    folded = take_fold(grant.company, job, facts.facts)
    again = _sent_before(grant, received, folded)
    if again is not None:
        return Release.objects.get(job_id=job.id), again
    refuse_unknown_step(received.entry.signed, folded)
    if job.state != "open":
        raise Conflict(f"The job is {job.state}; it is not released again.")
    if body.chain_head != job.chain_head.hex():
        raise ChainHeadMoved(members={"chain_head": job.chain_head.hex()})
    _ask_the_gate(grant, job, folded, facts, received)
    return _store(grant, job, folded, received, facts, now)


def _sent_before(grant: Grant, received: ReceivedEntry, folded: Fold) -> Recorded | None:
    twin = stored_entries(grant.company, [received.entry.id]).get(received.entry.id)
    if twin is None:
        return None
    if twin.digest != received.jws.digest:
        raise AlreadyExists("An entry with this id but other content is in the record.")
    return recorded_again(twin, folded)


def _ask_the_gate(grant: Grant, job: JobRow, folded: Fold, facts: CompanyFacts, received: ReceivedEntry) -> None:
    bench = folded.bench
    signed_at = as_datetime(corrected_time(received.entry))
    blockers = (
        *blockers_of(grant.company, job, bench, facts, received.entry.received_at),
        *unqualified_signer(bench, received.entry.technician, signed_at),
        *dated_too_early(folded.ordered, received.entry),
    )
    if blockers:
        raise GateClosed(members={"blockers": [blocker.document() for blocker in blockers]})


def blockers_of(company: UUID, job: JobRow, bench: Bench, facts: CompanyFacts, now: datetime) -> tuple[Blocker, ...]:
    """Every unmet condition of the job's gate at `now`, all at once."""
    if job.purpose == "follow_up":
        completed = Blocker("not_a_rebuild", "A follow-up job is completed, not released.", "Do its steps.")
        return (completed, *missing_photos(bench), *photos_awaited(company, bench))
    condemned = Condemnation.objects.filter(top_plate_id=job.top_plate).exists()
    claims = device_claims(company, job.id, facts.facts)
    offered = open_transfer(company, job.id)
    return (
        *unmet_by_now(bench, now),
        *unmet_outside_the_record(bench, claims=claims, casting_condemned=condemned),
        *(() if offered is None else (transfer_open(*offered),)),
        *photos_awaited(company, bench),
    )


def _store(
    grant: Grant, job: JobRow, folded: Fold, received: ReceivedEntry, facts: CompanyFacts, now: datetime
) -> tuple[Release, Recorded]:
    bench, verification = folded.bench, folded.bench.verification
    if verification is None:
        raise GateClosed("The job has no complete verification.")
    record_verification(grant, job, bench, now)
    written = store_on_job(grant, job, folded, [received], facts, now, state="released")[0]
    outcome = folded.bench.outcomes[received.entry.id]
    if not outcome.credit:
        raise GateClosed(members={"blockers": [finding.document() for finding in outcome.findings]})
    procedure, released_at = folded.bench.procedure, folded.bench.times[received.entry.id]  # by the server's clock
    last = Release.objects.filter(unit_id=job.unit).order_by("-version").first()
    release = Release.objects.create(
        company_id=grant.company,
        id=received.entry.id,
        job_id=job.id,
        unit_id=job.unit,
        entry_id=received.entry.id,
        verification_id=verification,
        verification_passed=True,
        version=(last.version if last else 0) + 1,
        released_at=released_at,
        limited_until_follow_up=procedure.follow_up is not None,
        follow_up_due_at=follow_up_due(procedure, released_at),
        next_inspection_at=next_inspection_due(procedure, released_at),
    )
    raise_availability(grant.company, job.unit)
    receipt = written.receipt
    recorded = Recorded(
        receipt.entry,
        job.id,
        receipt.position,
        receipt.received_at,
        receipt.previous,
        written.leaf,
        outcome,
        True,
    )
    return release, recorded
