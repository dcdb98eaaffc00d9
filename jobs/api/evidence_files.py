"""Evidence files of a job: what its entries name, what has arrived, and the files themselves."""

import re
from typing import Final
from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import evidence_schemas as schemas
from jobs.domain.byte_range import UNSATISFIABLE, read_range
from jobs.domain.evidence_media import EXTENSIONS, MEDIA_TYPES, SHOWN_IN_A_PAGE
from jobs.queries.evidence_files import FileOfJob, named_document, named_in_job
from jobs.queries.evidence_store import stored_file
from jobs.queries.retention import gone_file
from jobs.services.read_job import reachable_job
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import AUDITORS, BENCH
from shops.domain.errors import FileDamaged, Gone, NotFound

TAG: Final = "Evidence"
READERS: Final = BENCH | AUDITORS
_DIGEST: Final = re.compile(r"[0-9a-f]{64}", re.ASCII)


class JobEvidenceFilesView(RecordView):
    @operation(
        summary="List the files that a job's entries name: which have arrived, and on whose phone the others are",
        roles=READERS,
        answers={200: schemas.NamedFileListSchema},
        example={"items": [schemas.NAMED]},
        problems=[NotFound],
        tag=TAG,
    )
    def get(self, request: Request, job: UUID) -> Response:
        reachable_job(grant=self.grant, job=job)
        return Response({"items": [named_document(one) for one in named_in_job(self.grant, job)]})


class JobEvidenceFileView(RecordView):
    @operation(
        summary="Fetch a file that an entry of the job names",
        description="The very bytes, checked against the digest before they go out. Pictures that browsers show may be "
        "shown in a page, the rest is a download; none of it may run anything. The digest is the ETag.",
        roles=READERS,
        answers={(200, media): OpenApiTypes.BINARY for media in MEDIA_TYPES},
        example="the bytes of the picture",
        problems=[NotFound, Gone, FileDamaged],
        parameters=[OpenApiParameter("Range", OpenApiTypes.STR, OpenApiParameter.HEADER, description="One range.")],
        is_export=True,
        tag=TAG,
    )
    def get(self, request: Request, job: UUID, digest: str) -> HttpResponse:
        reachable_job(grant=self.grant, job=job)
        file = _found(self, job, digest)
        headers = _headers(file)
        if _matches(request.META.get("HTTP_IF_NONE_MATCH", ""), headers["ETag"]):
            return HttpResponse(status=304, headers=headers)
        content = stored_file(self.grant.company, digest)
        if content is None:
            raise FileDamaged
        return _part_of(content, file, headers, _range(request, headers["ETag"]))


def _found(view: RecordView, job: UUID, digest: str) -> FileOfJob:
    """The file, if an entry that the caller may see names it and it has arrived. Else it is unknown."""
    if _DIGEST.fullmatch(digest):
        for one in named_in_job(view.grant, job, digest):
            if one.file is not None:
                _refuse_gone(view, digest, was_deleted=one.deleted_at is not None)
                return one.file
    raise NotFound("No entry of this job names such a file, or it has not arrived.")


def _refuse_gone(view: RecordView, digest: str, *, was_deleted: bool) -> None:
    gone = gone_file(view.grant.company, digest, view.now) if was_deleted else None
    if gone is not None:
        told = {"deletion": gone.deletion, "proposed_by": gone.proposed_by, "decided_by": gone.decided_by}
        raise Gone(members={**told, "decided_at": gone.decided_at, "reason": gone.reason})


def _headers(file: FileOfJob) -> dict[str, str]:
    shown = "inline" if file.media_type in SHOWN_IN_A_PAGE else "attachment"
    return {
        "ETag": f'"{file.digest}"',
        "Cache-Control": "private, max-age=31536000, immutable",
        "Content-Disposition": f'{shown}; filename="{file.digest}.{EXTENSIONS[file.media_type]}"',
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "Cross-Origin-Resource-Policy": "same-origin",
        "X-Content-Type-Options": "nosniff",
        "Accept-Ranges": "bytes",
    }


def _matches(header: str, etag: str) -> bool:
    """If-None-Match compares weakly (RFC 9110, 13.1.2)."""
    return any(tag.strip().removeprefix("W/") in {etag, "*"} for tag in header.split(","))


def _range(request: Request, etag: str) -> str | None:
    """The Range that was asked for, unless If-Range names something else (RFC 9110, 13.1.5)."""
    return request.META.get("HTTP_RANGE") if request.META.get("HTTP_IF_RANGE", etag) == etag else None


def _part_of(content: bytes, file: FileOfJob, headers: dict[str, str], asked: str | None) -> HttpResponse:
    found = read_range(asked, len(content))
    if found is None:
        return HttpResponse(content, content_type=file.media_type, headers=headers)
    if found == UNSATISFIABLE:
        return HttpResponse(status=416, headers={**headers, "Content-Range": f"bytes */{len(content)}"})
    first, end = found
    headers = {**headers, "Content-Range": f"bytes {first}-{end - 1}/{len(content)}"}
    return HttpResponse(content[first:end], status=206, content_type=file.media_type, headers=headers)
