"""Sends evidence files in tests: whole, or in parts with the header fields of the draft."""

import uuid
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from jobs.demo.picture import picture, picture_digest
from jobs.domain.evidence_media import JPEG
from jobs.domain.upload_fields import sha_256_field
from jobs.models.evidence import EvidenceFile, EvidenceUpload, EvidenceUploadPart
from tests.acts import Act, step
from tests.record import Caller, Record

PARTIAL = "application/partial-upload"
HEAP = picture("heap, seen from the door")
DIGEST = picture_digest(HEAP)
NAMES_HEAP = step("identify", evidence=[DIGEST])


def begin(
    caller: Caller, job: uuid.UUID, content: bytes, *, digest: str = DIGEST, media: str = JPEG, **fields: str
) -> Any:
    """POST the beginning of a file, or all of it; `Upload_Length="9"` is a header field of that name."""
    headers = {"Repr-Digest": sha_256_field(digest), **{name.replace("_", "-"): text for name, text in fields.items()}}
    return caller.post(f"/v1/jobs/{job}/evidence_uploads", content, media, **headers)


def send(caller: Caller, job: uuid.UUID, content: bytes, *, media: str = JPEG) -> Any:
    """The whole file in one request, under its own digest."""
    return begin(caller, job, content, digest=picture_digest(content), media=media)


def append(caller: Caller, upload: str, content: bytes, offset: int, *, last: bool, **fields: str) -> Any:
    headers = {"Upload-Offset": str(offset), "Upload-Complete": "?1" if last else "?0"}
    more = {name.replace("_", "-"): text for name, text in fields.items()}
    return caller.send("PATCH", upload, content, PARTIAL, **{**headers, **more})


def head(caller: Caller, upload: str) -> Any:
    return caller.send("HEAD", upload, b"", "")


def file_path(job: uuid.UUID, digest: str = DIGEST) -> str:
    return f"/v1/jobs/{job}/evidence_files/{digest}"


def named_on(record: Record, *acts: Act) -> uuid.UUID:
    """A job with these acts; by itself, one that names the heap."""
    job = record.open_job()
    record.play(job, acts or [NAMES_HEAP])
    return job


def rows(record: Record) -> tuple[int, int, int]:
    """How many files, uploads and parts the company has."""
    with transaction.atomic():
        record.enter()
        return tuple(model.objects.count() for model in (EvidenceFile, EvidenceUpload, EvidenceUploadPart))  # type: ignore[return-value]


def on_disk(record: Record) -> list[Path]:
    folder = Path(settings.STORAGES["evidence"]["OPTIONS"]["location"]) / str(record.company)
    return [path for path in folder.rglob("*") if path.is_file()] if folder.exists() else []


def nothing_is_left(record: Record) -> bool:
    return rows(record) == (0, 0, 0) and not on_disk(record)
