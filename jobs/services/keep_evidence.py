"""Keeps a file that has come whole: under its digest, once for each company."""

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from django.core.files.base import ContentFile

from jobs.domain.evidence_media import MEDIA_TYPES, media_types_of
from jobs.models.evidence import EvidenceFile
from jobs.queries.evidence_store import digest_in_store, evidence_store, name_of
from jobs.queries.retention import gone_file
from jobs.services.company_lock import LockKey, wait_for_lock
from shops.domain.access import Grant
from shops.domain.errors import DigestMismatch, Gone, NotEvidence
from shops.services.new_id import new_id


@dataclass(frozen=True, slots=True)
class KeptFile:
    """The row of a file, and whether this call wrote it."""

    row: EvidenceFile
    is_new: bool


def keep_evidence(
    *, grant: Grant, job: UUID, digest: str, media_type: str | None, content: bytes, now: datetime
) -> KeptFile:
    """Store `content` and say that it arrived; what has arrived before stays as it is, and is mended if it was lost.

    Raises DigestMismatch, NotEvidence for what is none or not what was declared, Gone for what was deleted. The file is
    in the store before its row is committed: a row never promises what is not there. A file without a row is never
    served.
    """
    kind = _checked(digest, media_type, content)
    wait_for_lock(grant.company, LockKey.EVIDENCE, of=digest)
    gone = gone_file(grant.company, digest, now)
    if gone is not None:
        raise Gone(f"This file was deleted on {gone.decided_at:%Y-%m-%d}: {gone.reason}")
    found = EvidenceFile.objects.filter(digest=digest).first()
    if found is None or digest_in_store(grant.company, digest) != digest:
        evidence_store().save(name_of(grant.company, digest), ContentFile(content))
    if found is not None:
        return KeptFile(found, is_new=False)
    row = EvidenceFile.objects.create(
        id=new_id(now),
        company_id=grant.company,
        digest=digest,
        size=len(content),
        media_type=kind,
        job_id=job,
        received_at=now,
        recorded_by=grant.by,
        token=grant.token,
        technician=grant.technician,
    )
    return KeptFile(row, is_new=True)


def _checked(digest: str, declared: str | None, content: bytes) -> str:
    """The media type under which the file is kept."""
    came = sha256(content).hexdigest()
    if came != digest:
        raise DigestMismatch(f"What came has the SHA-256 {came}, not {digest}. Nothing of it is kept: send it anew.")
    kinds = media_types_of(content)
    if not kinds:
        raise NotEvidence(f"The content is none of {', '.join(MEDIA_TYPES)}, whatever it is called.")
    if declared is not None and declared not in kinds:
        raise NotEvidence(f"The content is {kinds[0]}, and was declared as {declared}.")
    return declared or kinds[0]
