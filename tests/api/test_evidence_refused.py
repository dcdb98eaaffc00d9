"""Files that are not kept: not what was said, too large, empty, not the sender's to send. Nothing of them is left."""

import uuid
from typing import Any

import pytest
from django.db import transaction

from jobs.demo.picture import picture, picture_digest
from jobs.queries.evidence_store import name_of
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from tests.api.problems import refused
from tests.record import Caller, Record, build_record, issue_token
from tests.uploading import DIGEST, HEAP, append, begin, head, named_on, nothing_is_left, send

HALF = len(HEAP) // 2


@pytest.fixture
def phone(record: Record) -> Caller:
    return record.as_role(Role.TECHNICIAN)


def test_of_a_file_with_another_digest_nothing_is_left(record: Record, phone: Caller) -> None:
    job = named_on(record)
    refused(begin(phone, job, picture("another heap")), 422, "digest-mismatch")
    upload = begin(phone, job, HEAP[:HALF], Upload_Complete="?0")["Location"]
    wrong = append(phone, upload, HEAP[HALF:-1] + b"?", HALF, last=True)
    refused(wrong, 422, "digest-mismatch")
    assert wrong["Upload-Complete"] == "?1"
    assert head(phone, upload).status_code == 404
    assert nothing_is_left(record)


PAGE = b"<!DOCTYPE html><script>fetch('/v1/jobs')</script>"


@pytest.mark.parametrize(
    ("content", "media"),
    [
        (PAGE, "image/jpeg"),
        (PAGE + HEAP, "image/jpeg"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "image/png"),
        (HEAP, "image/png"),
        (b"%PDF-1.7", "image/jpeg"),
        (PAGE, "application/octet-stream"),
    ],
)
def test_what_is_not_what_it_says_is_refused_and_leaves_nothing(
    record: Record, phone: Caller, content: bytes, media: str
) -> None:
    job = named_on(record)
    refused(send(phone, job, content, media=media), 415, "not-evidence")
    digest = picture_digest(content)
    upload = begin(phone, job, content[:5], digest=digest, media=media, Upload_Complete="?0")["Location"]
    refused(append(phone, upload, content[5:], 5, last=True), 415, "not-evidence")
    assert nothing_is_left(record)


@pytest.mark.parametrize("media", ["text/html", "image/svg+xml", "application/json", "video/mp4", "image/jpeg2"])
def test_only_kinds_of_evidence_may_be_declared(record: Record, phone: Caller, media: str) -> None:
    refused(send(phone, named_on(record), HEAP, media=media), 415, "unsupported-media")
    assert nothing_is_left(record)


@pytest.mark.parametrize("media", ["", "application/octet-stream", "IMAGE/JPEG; name=heap.jpg"])
def test_who_declares_nothing_leaves_it_to_the_content(record: Record, phone: Caller, media: str) -> None:
    answer = send(phone, named_on(record), HEAP, media=media)
    assert answer.json()["file"]["media_type"] == "image/jpeg"


def test_an_empty_file_is_refused(record: Record, phone: Caller) -> None:
    job, empty = named_on(record), picture_digest(b"")
    refused(send(phone, job, b""), 400, "bad-input")
    refused(begin(phone, job, b"", digest=empty, Upload_Complete="?0", Upload_Length="0"), 400, "bad-input")
    assert nothing_is_left(record)
    upload = begin(phone, job, b"", digest=empty, Upload_Complete="?0")["Location"]
    refused(append(phone, upload, b"", 0, last=True), 400, "bad-input")


def test_a_file_of_the_limit_is_taken_and_one_byte_more_is_not(record: Record, phone: Caller, settings: Any) -> None:
    settings.EVIDENCE_FILE_LIMIT = len(HEAP)
    job, more = named_on(record), HEAP + b"x"
    answer = send(phone, job, more)
    document = refused(answer, 413, "too-large")
    assert document["limit"] == len(HEAP)
    assert str(len(HEAP)) in document["detail"]
    assert answer["Upload-Limit"].startswith(f"max-size={len(HEAP)},")
    said = begin(phone, job, b"", digest=picture_digest(more), Upload_Complete="?0", Upload_Length=str(len(more)))
    refused(said, 413, "too-large")
    assert nothing_is_left(record)
    upload = begin(phone, job, more[:HALF], digest=picture_digest(more), Upload_Complete="?0")["Location"]
    answer = append(phone, upload, more[HALF:], HALF, last=True)
    refused(answer, 413, "too-large")
    assert answer["Upload-Complete"] == "?1"
    assert head(phone, upload).status_code == 404
    assert nothing_is_left(record)
    assert send(phone, job, HEAP).status_code == 201


def test_a_part_that_is_too_large_for_a_request_spoils_nothing_of_what_came_before(
    record: Record, phone: Caller
) -> None:
    upload = begin(phone, named_on(record), HEAP[:HALF], Upload_Complete="?0")["Location"]
    refused(append(phone, upload, bytes((8 << 20) + 1), HALF, last=True), 413, "too-large")
    assert head(phone, upload)["Upload-Offset"] == str(HALF)


def test_a_body_beyond_what_anything_accepts_is_not_read(record: Record, phone: Caller) -> None:
    answer = send(phone, named_on(record), HEAP + bytes(8 << 20))
    refused(answer, 413, "too-large")
    assert "max-append-size=8388608" in answer["Upload-Limit"]


def test_an_upload_is_its_sender_s(record: Record, phone: Caller) -> None:
    upload = begin(phone, named_on(record), HEAP[:HALF], Upload_Complete="?0")["Location"]
    other = record.as_role(Role.LEAD)
    for answer in (
        other.get(upload),
        append(other, upload, HEAP[HALF:], HALF, last=True),
        other.send("DELETE", upload),
    ):
        refused(answer, 404, "not-found")
    assert head(phone, upload)["Upload-Offset"] == str(HALF)


def test_a_file_of_another_company_is_not_known_here(record: Record, phone: Caller) -> None:
    """The same bytes are sent and stored anew: nothing tells that somebody else has them."""
    send(phone, named_on(record), HEAP)
    other = build_record(procedures=["PR-11"])
    theirs = named_on(other)
    caller = other.as_role(Role.TECHNICIAN)
    assert send(caller, theirs, HEAP).status_code == 201
    assert name_of(record.company, DIGEST) != name_of(other.company, DIGEST)
    refused(send(caller, uuid.uuid4(), HEAP), 404, "not-found")


def test_a_job_out_of_the_token_s_reach_takes_no_files(record: Record) -> None:
    job = named_on(record)
    with transaction.atomic():
        record.enter()
        elsewhere = Caller(issue_token(record, Role.TECHNICIAN, TokenScope(shops=(uuid.uuid4(),))))
        for_another = Caller(issue_token(record, Role.TECHNICIAN, TokenScope(carriers=(uuid.uuid4(),))))
    for caller in (elsewhere, for_another):
        refused(send(caller, job, HEAP), 404, "not-found")
    assert nothing_is_left(record)
