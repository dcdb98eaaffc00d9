"""Proposes to let evidence files go. Nothing happens to any file until a second person approves it."""

from collections.abc import Collection, Sequence
from datetime import date, datetime
from uuid import UUID

from jobs.models.evidence import EvidenceFile
from jobs.models.retention import EvidenceDeletion
from jobs.queries.retention import deleted_files, keeping_of_files
from jobs.services.company_lock import LockKey, wait_for_lock
from jobs.services.read_job import reachable_job
from shops.domain.access import Grant
from shops.domain.errors import BadInput, FieldProblem, MayNotGo
from shops.services.create_once import Created, create_once

_CONTENT = ("job_id", "digests", "reason", "left_control_on")


def propose_evidence_deletion(
    *,
    grant: Grant,
    identifier: UUID,
    job: UUID,
    digests: Sequence[str],
    reason: str,
    left_control: date | None,
    now: datetime,
) -> Created[EvidenceDeletion]:
    """`left_control` is the day on which the unit left the carrier's control; None if it has not.

    Raises NotFound, BadInput for a file that has not arrived, MayNotGo with everything that stands against it,
    AlreadyExists.
    """
    reachable_job(grant=grant, job=job)
    wait_for_lock(grant.company, LockKey.RETENTION)
    wanted = sorted(set(digests))
    row = EvidenceDeletion(
        id=identifier,
        company_id=grant.company,
        job_id=job,
        digests=wanted,
        reason=reason,
        left_control_on=left_control.isoformat() if left_control else None,
        proposed_at=now,
        recorded_by=grant.by,
        token=grant.token,
        technician=grant.technician,
    )
    if not EvidenceDeletion.objects.filter(id=identifier).exists():
        refuse_kept_files(grant, job, wanted, left_control, now)
    return create_once(row, content=_CONTENT)


def refuse_kept_files(
    grant: Grant, job: UUID, digests: Sequence[str], left_control: date | None, now: datetime
) -> None:
    """Every file has arrived, belongs to the job, was not deleted, and nothing keeps it."""
    arrived = set(EvidenceFile.objects.filter(digest__in=digests).values_list("digest", flat=True))
    gone = deleted_files(grant.company, digests)
    keeping = keeping_of_files(grant.company, digests, left_control=left_control, now=now)
    problems = [
        FieldProblem(f"/digests/{at}", why, "Leave it out.")
        for at, digest in enumerate(digests)
        if (why := _why_not(digest, job, arrived, gone.keys(), {one.job.id for one in keeping[digest]}))
    ]
    if problems:
        raise BadInput(problems=problems)
    obstacles = dict.fromkeys(found for digest in digests for one in keeping[digest] for found in one.obstacles)
    if obstacles:
        raise MayNotGo(members={"obstacles": [found.document() for found in obstacles]})


def _why_not(digest: str, job: UUID, arrived: Collection[str], gone: Collection[str], jobs: Collection[UUID]) -> str:
    if digest not in arrived or job not in jobs:
        return "No such file of this job has arrived."
    return "It was deleted before." if digest in gone else ""
