"""Uploads of evidence files, resumable in parts, as the IETF draft "Resumable Uploads for HTTP" has it.

Rules, in plain sentences:

1. What is acknowledged is committed: parts are rows, and the offset is what they add up to. A killed server loses
   nothing of it.
2. An upload goes on exactly where it stands. Who begins the same upload again (same token, job and digest) is given the
   one that is open, and what he sent again is passed over.
3. The last part is checked together with all before it; only then is there a file.
4. What is taken has to find room (`jobs.services.require_room`); the same file sent again needs none.
5. An upload is its sender's: his token, or another one of the same technician.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.conf import settings

from jobs.domain.evidence_media import MEDIA_TYPES
from jobs.models.evidence import EvidenceFile, EvidenceUpload, EvidenceUploadPart
from jobs.services.keep_evidence import KeptFile, keep_evidence
from jobs.services.read_job import reachable_job
from jobs.services.require_room import require_room
from shops.domain.access import Grant
from shops.domain.errors import (
    BadInput,
    FieldProblem,
    NotFound,
    TooLarge,
    UnsupportedMedia,
    UploadCompleted,
    UploadLengthWrong,
    UploadOffsetWrong,
)
from shops.services.new_id import new_id


@dataclass(frozen=True, slots=True)
class UploadRequest:
    """What the sender says of the file: its SHA-256 (hex), its media type, how long it will be."""

    digest: str
    media_type: str | None
    length: int | None


@dataclass(frozen=True, slots=True)
class Part:
    """Bytes from `offset` on. `is_last`: with them the file is whole."""

    offset: int
    content: bytes
    is_last: bool

    @property
    def end(self) -> int:
        return self.offset + len(self.content)


@dataclass(frozen=True, slots=True)
class Progress:
    """Where an upload stands: `file` once it is whole, new or not; `id` None where one request brought all of it."""

    id: UUID | None
    job: UUID
    digest: str
    offset: int
    length: int | None
    file: EvidenceFile | None = None
    is_new: bool = False

    @property
    def is_complete(self) -> bool:
        return self.file is not None


def begin_upload(*, grant: Grant, job: UUID, request: UploadRequest, part: Part, now: datetime) -> Progress:
    """Begin an upload with its first bytes, or all of them.

    Raises NotFound for a job out of reach, BadInput for an empty file, TooLarge, UnsupportedMedia,
    UploadLengthWrong, EvidenceFull, and what `keep_evidence` raises.
    """
    reachable_job(grant=grant, job=job)
    if request.media_type is not None and request.media_type not in MEDIA_TYPES:
        raise UnsupportedMedia(f"Evidence is one of {', '.join(MEDIA_TYPES)}, not {request.media_type}.")
    _refuse_length(request.length, part)
    upload = _open_upload(grant, job, request.digest)
    if upload is None and part.is_last:
        if not EvidenceFile.objects.filter(digest=request.digest).exists():
            require_room(grant.company, job, part.end)
        kept = keep_evidence(
            grant=grant, job=job, digest=request.digest, media_type=request.media_type, content=part.content, now=now
        )
        return Progress(None, job, request.digest, part.end, part.end, kept.row, kept.is_new)
    if upload is None:
        upload = _new_upload(grant, job, request, now)
    return _append(grant, upload, _not_yet_there(upload, part), request.length, now)


def append_to_upload(*, grant: Grant, upload: UUID, part: Part, length: int | None, now: datetime) -> Progress:
    """Append a part. Raises NotFound, UploadOffsetWrong, UploadCompleted, and what `begin_upload` raises."""
    found = _own(grant, EvidenceUpload.objects.select_for_update().filter(id=upload).first())
    if part.offset != found.received:
        raise UploadOffsetWrong(members={"expected-offset": found.received, "provided-offset": part.offset})
    if found.completed_at is not None:
        if part.content:
            raise UploadLengthWrong("The upload is complete, and longer it does not get.")
        raise UploadCompleted
    return _append(grant, found, part, length, now)


def upload_progress(*, grant: Grant, upload: UUID) -> Progress:
    """Where an upload of the caller stands. Raises NotFound."""
    found = _own(grant, EvidenceUpload.objects.filter(id=upload).first())
    done = None if found.completed_at is None else EvidenceFile.objects.filter(digest=found.digest).first()
    return _progress(found, done)


def cancel_upload(*, grant: Grant, upload: UUID) -> None:
    """Forget an upload and all that came of it; a file that is whole stays. Raises NotFound."""
    forget_uploads([_own(grant, EvidenceUpload.objects.select_for_update().filter(id=upload).first()).id])


def forget_uploads(uploads: Sequence[UUID]) -> None:
    """Delete uploads of the entered company with their parts."""
    EvidenceUploadPart.objects.filter(upload_id__in=uploads).delete()
    EvidenceUpload.objects.filter(id__in=uploads).delete()


def _own(grant: Grant, upload: EvidenceUpload | None) -> EvidenceUpload:
    is_his = upload is not None and (
        upload.token == grant.token or (grant.technician is not None and upload.technician == grant.technician)
    )
    if upload is None or not is_his:
        raise NotFound("There is no such upload.")
    return upload


def _open_upload(grant: Grant, job: UUID, digest: str) -> EvidenceUpload | None:
    wanted = {"job_id": job, "digest": digest, "token": grant.token, "completed_at": None}
    return EvidenceUpload.objects.select_for_update().filter(**wanted).first()


def _new_upload(grant: Grant, job: UUID, request: UploadRequest, now: datetime) -> EvidenceUpload:
    return EvidenceUpload.objects.create(
        id=new_id(now),
        company_id=grant.company,
        job_id=job,
        digest=request.digest,
        media_type=request.media_type,
        length=request.length,
        token=grant.token,
        technician=grant.technician,
        begun_at=now,
        touched_at=now,
    )


def _not_yet_there(upload: EvidenceUpload, part: Part) -> Part:
    """Of an upload that is begun again, what has not come before."""
    return Part(upload.received, part.content[upload.received :], part.is_last and part.end >= upload.received)


def _append(grant: Grant, upload: EvidenceUpload, part: Part, length: int | None, now: datetime) -> Progress:
    if length is not None and upload.length not in {None, length}:
        raise UploadLengthWrong(f"The upload was said to be {upload.length} bytes long, not {length}.")
    upload.length = length if upload.length is None else upload.length
    _refuse_length(upload.length, part)
    require_room(grant.company, upload.job_id, max(part.end, upload.length or 0) - upload.received)
    if part.content:
        EvidenceUploadPart.objects.create(
            id=new_id(now), company_id=grant.company, upload=upload, start=part.offset, content=part.content
        )
    upload.received, upload.touched_at = part.end, now
    kept = _complete(grant, upload, now) if part.is_last else None
    upload.save(update_fields=["received", "length", "touched_at", "completed_at"])
    return _progress(upload, kept.row if kept else None, is_new=kept is not None and kept.is_new)


def _complete(grant: Grant, upload: EvidenceUpload, now: datetime) -> KeptFile:
    """All its parts, put together, become the file; the parts are needed no more."""
    parts = EvidenceUploadPart.objects.filter(upload_id=upload.id)
    content = b"".join(bytes(one) for one in parts.order_by("start").values_list("content", flat=True))
    kept = keep_evidence(
        grant=grant, job=upload.job_id, digest=upload.digest, media_type=upload.media_type, content=content, now=now
    )
    parts.delete()
    upload.length, upload.completed_at = upload.received, now
    return kept


def _progress(upload: EvidenceUpload, file: EvidenceFile | None, *, is_new: bool = False) -> Progress:
    return Progress(upload.id, upload.job_id, upload.digest, upload.received, upload.length, file, is_new)


def _refuse_length(length: int | None, part: Part) -> None:
    """Neither what is said nor what came is longer than a file may be, and they fit each other."""
    limit = settings.EVIDENCE_FILE_LIMIT
    if max(length or 0, part.end) > limit:
        raise TooLarge(f"An evidence file has at most {limit} bytes.", members={"limit": limit})
    if length == 0 or (part.is_last and part.end == 0):
        raise BadInput("The file is empty.", problems=[FieldProblem("", "The file is empty.", "Send the photo.")])
    if length is None:
        return
    if part.end > length or (part.is_last and part.end != length):
        raise UploadLengthWrong(f"The upload is {length} bytes long, and what came ends at {part.end}.")
