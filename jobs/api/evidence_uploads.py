"""Uploads of evidence files, whole or in parts that can be resumed (IETF draft "Resumable Uploads for HTTP")."""

from datetime import timedelta
from hashlib import sha256
from typing import Any, Final
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import evidence_schemas as schemas
from jobs.domain.evidence_media import JPEG, MEDIA_TYPES
from jobs.domain.upload_fields import boolean, read_boolean, read_integer, read_sha_256
from jobs.queries.evidence_files import file_document
from jobs.services.upload_evidence import (
    Part,
    Progress,
    UploadRequest,
    append_to_upload,
    begin_upload,
    cancel_upload,
    forget_uploads,
    upload_progress,
)
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import BENCH
from shops.domain.errors import (
    BadInput,
    DigestMismatch,
    EvidenceFull,
    FieldProblem,
    Gone,
    NotEvidence,
    NotFound,
    TooLarge,
    UnsupportedMedia,
    UploadCompleted,
    UploadLengthWrong,
    UploadOffsetWrong,
)
from shops.queries.access import enter_company

TAG: Final = "Evidence"
PARTIAL: Final = "application/partial-upload"
_UNDECLARED: Final = frozenset({"", "application/octet-stream"})
_REFUSED: Final = (DigestMismatch, Gone, NotEvidence)


def _header(name: str, kind: Any, description: str, *, required: bool = False) -> OpenApiParameter:
    return OpenApiParameter(name, kind, OpenApiParameter.HEADER, required=required, description=description)


COMPLETE = _header("Upload-Complete", OpenApiTypes.STR, "`?1` if the body ends the file, `?0` if more will follow.")
LENGTH = _header("Upload-Length", OpenApiTypes.INT, "How many bytes the whole file has.")
OFFSET = _header("Upload-Offset", OpenApiTypes.INT, "Where the body begins in the file.", required=True)
DIGEST = _header(
    "Repr-Digest",
    OpenApiTypes.STR,
    "SHA-256 of the whole file (RFC 9530), `sha-256=:base64:`: the digest that the entry names.",
    required=True,
)
PART_DIGEST = _header("Content-Digest", OpenApiTypes.STR, "SHA-256 of this body (RFC 9530); checked if it is sent.")
_LENGTHS = [UploadLengthWrong, TooLarge, EvidenceFull]
_PROBLEMS = [BadInput, DigestMismatch, *_LENGTHS, NotFound, Gone, UnsupportedMedia, NotEvidence]


class UploadView(RecordView):
    """What both resources share: limits are told, and of a file that was refused nothing is left."""

    spoilt: UUID | None = None

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        answer = super().dispatch(request, *args, **kwargs)
        if self.spoilt is not None:  # the refusal has rolled its own transaction back
            with transaction.atomic():
                enter_company(self.grant.company)
                forget_uploads([self.spoilt])
        return answer

    def handle_exception(self, exc: Exception) -> Response:
        answer = super().handle_exception(exc)
        if isinstance(exc, UploadOffsetWrong):
            answer["Upload-Offset"] = str(exc.members["expected-offset"])
        if _is_final(exc):
            answer["Upload-Complete"] = boolean(True)  # it came, and was refused: resuming would not help
            self.spoilt = self.kwargs.get("upload")
        answer["Upload-Limit"] = limits()
        return answer

    def part(self, request: Request, offset: int, is_last: bool) -> Part:
        """The body. One that broke off is kept as far as it came, and ends no file."""
        body: bytes = request._request.body  # noqa: SLF001
        said = read_integer(request.META.get("CONTENT_LENGTH")) or 0
        if len(body) >= said:
            _require_digest(request, body)
        return Part(offset, body, is_last and len(body) >= said)


def limits() -> str:
    age = int(timedelta(days=settings.EVIDENCE_UPLOAD_DAYS).total_seconds())
    return f"max-size={settings.EVIDENCE_FILE_LIMIT}, max-append-size={settings.EVIDENCE_PART_LIMIT}, max-age={age}"


def _is_final(exc: Exception) -> bool:
    """The file itself is refused. A part that is only too large for a request can be sent again in smaller ones."""
    if isinstance(exc, TooLarge):
        return "limit" in exc.members
    return isinstance(exc, _REFUSED) and not isinstance(exc, UploadCompleted)


def _require_digest(request: Request, body: bytes) -> None:
    said = read_sha_256(request.META.get("HTTP_CONTENT_DIGEST"))
    if said is not None and said != sha256(body).hexdigest():
        detail = "The body is not what Content-Digest says: it was damaged on its way."
        raise BadInput(detail, problems=[FieldProblem("", detail, "Send the part again.")])


def _missing_header(name: str, cure: str) -> BadInput:
    detail = f"{name} is missing, or not what it has to be."
    return BadInput(detail, problems=[FieldProblem("", detail, cure)])


class JobEvidenceUploadsView(UploadView):
    @operation(
        summary="Send an evidence file, or begin to",
        description="By the IETF draft “Resumable Uploads for HTTP”. With `Upload-Complete: ?1`, or without the field, "
        "the body is the whole file. With `?0` it is the beginning; `Location` in the answer is where the rest goes. "
        f"The content has to be one of {', '.join(MEDIA_TYPES)}, which its first bytes show; `Content-Type` may say "
        "which, and must not say another. Beginning the same upload again gives the one that is open. The same "
        "file again is 200.",
        roles=BENCH,
        request={JPEG: OpenApiTypes.BINARY},
        request_example="the bytes of the picture",
        answers={201: schemas.UploadSchema, 200: schemas.UploadSchema},
        example=schemas.UPLOAD,
        problems=_PROBLEMS,
        parameters=[DIGEST, COMPLETE, LENGTH, PART_DIGEST],
        tag=TAG,
    )
    def post(self, request: Request, job: UUID) -> Response:
        digest = read_sha_256(request.META.get("HTTP_REPR_DIGEST"))
        if digest is None:
            raise _missing_header("Repr-Digest", "Send `Repr-Digest: sha-256=:base64 of the file's SHA-256:`.")
        sent = request.META.get("CONTENT_TYPE", "").partition(";")[0].strip().lower()
        length = read_integer(request.META.get("HTTP_UPLOAD_LENGTH"))
        is_last = read_boolean(request.META.get("HTTP_UPLOAD_COMPLETE")) is not False
        wanted = UploadRequest(digest, None if sent in _UNDECLARED else sent, length)
        progress = begin_upload(
            grant=self.grant, job=job, request=wanted, part=self.part(request, 0, is_last), now=self.now
        )
        status = 200 if progress.file is not None and not progress.is_new else 201
        return _answer(progress, job, digest, status)


class EvidenceUploadView(UploadView):
    @operation(
        summary="Ask where an upload stands (HEAD gives the same header fields)",
        description="An upload is its sender's. It is kept for some days after its last part, complete or not.",
        roles=BENCH,
        answers={200: schemas.UploadSchema},
        example=schemas.UPLOAD,
        problems=[NotFound],
        tag=TAG,
    )
    def get(self, request: Request, upload: UUID) -> Response:
        progress = upload_progress(grant=self.grant, upload=upload)
        return _answer(progress, progress.job, progress.digest, 200)

    @operation(
        summary="Append a part to an upload",
        description="The body begins at `Upload-Offset`, which has to be where the upload stands: else 409 names the "
        "right one. A part that was answered is kept, whatever happens to the server. With `Upload-Complete: ?1` the "
        "file is checked against its digest and its content looked at; if it is refused nothing of it is left.",
        roles=BENCH,
        request={PARTIAL: OpenApiTypes.BINARY},
        request_example="the next bytes of the picture",
        answers={200: schemas.UploadSchema, 201: schemas.UploadSchema},
        example=schemas.COMPLETED,
        problems=[*_PROBLEMS, UploadOffsetWrong, UploadCompleted],
        parameters=[OFFSET, COMPLETE, LENGTH, PART_DIGEST],
        tag=TAG,
    )
    def patch(self, request: Request, upload: UUID) -> Response:
        offset = read_integer(request.META.get("HTTP_UPLOAD_OFFSET"))
        is_last = read_boolean(request.META.get("HTTP_UPLOAD_COMPLETE"))
        if request.META.get("CONTENT_TYPE", "").partition(";")[0].strip().lower() != PARTIAL:
            raise UnsupportedMedia(f"Send {PARTIAL}.")
        if offset is None:
            raise _missing_header("Upload-Offset", "Ask for the offset with HEAD, and send it.")
        if is_last is None:
            raise _missing_header("Upload-Complete", "Send `?1` with the last part, `?0` with the others.")
        progress = append_to_upload(
            grant=self.grant,
            upload=upload,
            part=self.part(request, offset, is_last),
            length=read_integer(request.META.get("HTTP_UPLOAD_LENGTH")),
            now=self.now,
        )
        return _answer(progress, progress.job, progress.digest, 201 if progress.is_new else 200)

    @operation(
        summary="Cancel an upload",
        description="All that came of it is deleted. A file that is whole already stays.",
        roles=BENCH,
        answers={204: None},
        problems=[NotFound],
        tag=TAG,
    )
    def delete(self, request: Request, upload: UUID) -> Response:
        cancel_upload(grant=self.grant, upload=upload)
        return Response(status=204)


def _answer(progress: Progress, job: UUID, digest: str, status: int) -> Response:
    file = progress.file
    headers = {
        "Location": f"/v1/jobs/{job}/evidence_files/{digest}" if file else f"/v1/evidence_uploads/{progress.id}",
        "Upload-Offset": str(progress.offset),
        "Upload-Complete": boolean(progress.is_complete),
        "Upload-Limit": limits(),
        "Cache-Control": "no-store",
    }
    if progress.length is not None:
        headers["Upload-Length"] = str(progress.length)
    document = {
        "id": progress.id,
        "job": job,
        "digest": digest,
        "offset": progress.offset,
        "length": progress.length,
        "complete": progress.is_complete,
        "file": file_document(file) if file else None,
    }
    return Response(document, status=status, headers=headers)
