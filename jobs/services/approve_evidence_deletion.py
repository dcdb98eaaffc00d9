"""A second person approves a proposed deletion of evidence files, or somebody declines it.

The files are taken out of the store by the worker, after the decision is committed (`remove_evidence`).
"""

from datetime import date, datetime
from uuid import UUID

from jobs.domain.second_person import is_same_person
from jobs.models.retention import EvidenceDeletion, EvidenceDeletionDecision
from jobs.services.company_lock import LockKey, wait_for_lock
from jobs.services.propose_evidence_deletion import refuse_kept_files
from jobs.services.read_job import reachable_job
from shops.domain.access import Grant
from shops.domain.errors import NotFound, NotPermitted
from shops.services.create_once import Created, Taken, create_once

_CONTENT = ("deletion_id", "kind", "reason")
_TAKEN = {
    "evidence_deletion_decisions_once": Taken(
        "/id", "The deletion has been decided already, under another id.", "Read it."
    )
}


def approve_evidence_deletion(
    *, grant: Grant, identifier: UUID, deletion: UUID, reason: str | None, now: datetime
) -> Created[EvidenceDeletionDecision]:
    """Raises NotFound, NotPermitted for who proposed it, MayNotGo, AlreadyExists once it is decided otherwise."""
    found = _found(grant, deletion)
    if is_same_person(grant, token=found.token, technician=found.technician, recorded_by=found.recorded_by):
        raise NotPermitted("A second person decides about a deletion, not who proposed it.")
    if not EvidenceDeletionDecision.objects.filter(deletion_id=deletion).exists():
        left = date.fromisoformat(found.left_control_on) if found.left_control_on else None
        refuse_kept_files(grant, found.job_id, found.digests, left, now)
    return create_once(_decision(grant, identifier, deletion, "approved", reason, now), content=_CONTENT, taken=_TAKEN)


def decline_evidence_deletion(
    *, grant: Grant, identifier: UUID, deletion: UUID, reason: str, now: datetime
) -> Created[EvidenceDeletionDecision]:
    """Nothing goes. Raises NotFound, AlreadyExists once it is decided otherwise."""
    _found(grant, deletion)
    return create_once(_decision(grant, identifier, deletion, "declined", reason, now), content=_CONTENT, taken=_TAKEN)


def _decision(
    grant: Grant, identifier: UUID, deletion: UUID, kind: str, reason: str | None, now: datetime
) -> EvidenceDeletionDecision:
    return EvidenceDeletionDecision(
        id=identifier,
        company_id=grant.company,
        deletion_id=deletion,
        kind=kind,
        reason=reason,
        decided_at=now,
        recorded_by=grant.by,
    )


def _found(grant: Grant, deletion: UUID) -> EvidenceDeletion:
    wait_for_lock(grant.company, LockKey.RETENTION)
    found = EvidenceDeletion.objects.filter(id=deletion).first()
    if found is None:
        raise NotFound("There is no such deletion.")
    reachable_job(grant=grant, job=found.job_id)
    for digest in found.digests:  # in their order, so that two who wait do not wait for each other
        wait_for_lock(grant.company, LockKey.EVIDENCE, of=digest)
    return found
