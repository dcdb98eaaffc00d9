"""Uploads of evidence, by the IETF draft "Resumable Uploads for HTTP": whole, in parts, and what is refused."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.db import connection
from django.test import RequestFactory
from django.utils.timezone import now

from config.wsgi import application
from jobs.demo.picture import picture_digest
from jobs.domain.upload_fields import sha_256_field
from jobs.queries.evidence_store import stored_file
from jobs.services.forget_old_uploads import forget_old_uploads
from shops.domain.access import Role
from tests.api.problems import refused
from tests.record import Caller, Record
from tests.uploading import DIGEST, HEAP, PARTIAL, append, begin, head, named_on, nothing_is_left, on_disk, rows, send

IANA = "https://iana.org/assignments/http-problem-types#"
HALF = len(HEAP) // 2


@pytest.fixture
def phone(record: Record) -> Caller:
    return record.as_role(Role.TECHNICIAN)


def test_a_whole_file_is_stored_and_the_same_again_is_the_same_answer(record: Record, phone: Caller) -> None:
    job = named_on(record)
    first, again = send(phone, job, HEAP), send(phone, job, HEAP)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    file = first.json()["file"]
    assert (file["digest"], file["size"], file["media_type"]) == (DIGEST, len(HEAP), "image/jpeg")
    assert first["Upload-Complete"] == "?1"
    assert first["Location"] == f"/v1/jobs/{job}/evidence_files/{DIGEST}"
    assert rows(record) == (1, 0, 0)
    assert stored_file(record.company, DIGEST) == HEAP


def test_a_file_comes_in_parts(record: Record, phone: Caller) -> None:
    job = named_on(record)
    begun = begin(phone, job, HEAP[:100], Upload_Complete="?0", Upload_Length=str(len(HEAP)))
    assert begun.status_code == 201
    assert begun["Upload-Complete"] == "?0"
    assert begun["Upload-Limit"] == f"max-size={25 << 20}, max-append-size={8 << 20}, max-age=604800"
    upload = begun["Location"]
    assert append(phone, upload, HEAP[100:150], 100, last=False).status_code == 200
    asked = head(phone, upload)
    told = [asked[name] for name in ("Upload-Offset", "Upload-Complete", "Upload-Length", "Cache-Control")]
    assert (asked.status_code, told) == (200, ["150", "?0", str(len(HEAP)), "no-store"])
    assert not asked.content
    done = append(phone, upload, HEAP[150:], 150, last=True)
    assert (done.status_code, done["Upload-Complete"]) == (201, "?1")
    assert done.json()["file"]["digest"] == DIGEST
    assert stored_file(record.company, DIGEST) == HEAP
    assert rows(record) == (1, 1, 0)


def test_who_lost_the_last_answer_is_told_that_it_is_complete(record: Record, phone: Caller) -> None:
    job = named_on(record)
    upload = begin(phone, job, HEAP[:HALF], Upload_Complete="?0")["Location"]
    append(phone, upload, HEAP[HALF:], HALF, last=True)
    again = append(phone, upload, HEAP[HALF:], HALF, last=True)
    assert (again.status_code, again["Upload-Offset"]) == (409, str(len(HEAP)))
    asked = head(phone, upload)
    assert (asked["Upload-Complete"], asked["Upload-Offset"]) == ("?1", str(len(HEAP)))
    assert phone.get(upload).json()["file"]["digest"] == DIGEST
    empty = append(phone, upload, b"", len(HEAP), last=True)
    assert (empty.status_code, empty.json()["type"]) == (410, f"{IANA}completed-upload")
    more = append(phone, upload, b"x", len(HEAP), last=True)
    assert (more.status_code, more.json()["type"]) == (400, f"{IANA}inconsistent-upload-length")
    assert stored_file(record.company, DIGEST) == HEAP


def test_who_lost_the_first_answer_begins_again_and_goes_on_where_it_stood(record: Record, phone: Caller) -> None:
    job = named_on(record)
    first = begin(phone, job, HEAP[:HALF], Upload_Complete="?0")
    again = begin(phone, job, HEAP[:50], Upload_Complete="?0")
    assert again["Location"] == first["Location"]
    assert again["Upload-Offset"] == str(HALF)
    whole = send(phone, job, HEAP)
    assert (whole.status_code, whole["Upload-Complete"]) == (201, "?1")
    assert rows(record) == (1, 1, 0)


@pytest.mark.parametrize("offset", [0, HALF - 1, HALF + 1, 10**14])
def test_a_wrong_offset_is_a_conflict_that_names_the_right_one(record: Record, phone: Caller, offset: int) -> None:
    upload = begin(phone, named_on(record), HEAP[:HALF], Upload_Complete="?0")["Location"]
    answer = append(phone, upload, HEAP[HALF:], offset, last=True)
    assert (answer.status_code, answer["Upload-Offset"]) == (409, str(HALF))
    document = answer.json()
    assert document["type"] == f"{IANA}mismatching-upload-offset"
    assert (document["expected-offset"], document["provided-offset"]) == (HALF, offset)
    assert head(phone, upload)["Upload-Offset"] == str(HALF)
    assert append(phone, upload, HEAP[HALF:], HALF, last=True).status_code == 201


def broken_off(caller: Caller, upload: str, content: bytes, offset: int, *, said: int) -> dict[str, str]:
    """The last part of a file, of which less came than was said: as a WSGI server hands it over. The header fields."""
    fields = {"HTTP_UPLOAD_OFFSET": str(offset), "HTTP_UPLOAD_COMPLETE": "?1", "CONTENT_LENGTH": str(said)}
    fields["CONTENT_TYPE"] = PARTIAL
    environ = RequestFactory().generic("PATCH", upload, b"", PARTIAL, **fields).environ
    environ |= {"wsgi.input": BytesIO(content), "HTTP_AUTHORIZATION": f"Bearer {caller.token}"}
    answered: dict[str, str] = {}
    b"".join(application(environ, lambda status, headers: answered.update([("Status", status), *headers])))
    return answered


def test_a_part_that_broke_off_is_kept_as_far_as_it_came(record: Record, phone: Caller) -> None:
    upload = begin(phone, named_on(record), HEAP[:HALF], Upload_Complete="?0")["Location"]
    cut = broken_off(phone, upload, HEAP[HALF : HALF + 20], HALF, said=len(HEAP) - HALF)
    assert cut["Status"] == "200 OK"
    assert (cut["Upload-Complete"], cut["Upload-Offset"]) == ("?0", str(HALF + 20))
    assert append(phone, upload, HEAP[HALF + 20 :], HALF + 20, last=True).status_code == 201


def test_a_part_that_was_damaged_on_its_way_is_not_kept(record: Record, phone: Caller) -> None:
    upload = begin(phone, named_on(record), HEAP[:HALF], Upload_Complete="?0")["Location"]
    field = sha_256_field(picture_digest(HEAP[HALF:]))
    damaged = append(phone, upload, HEAP[HALF:-1] + b"?", HALF, last=True, Content_Digest=field)
    refused(damaged, 400, "bad-input")
    assert head(phone, upload)["Upload-Offset"] == str(HALF)
    assert append(phone, upload, HEAP[HALF:], HALF, last=True, Content_Digest=field).status_code == 201


def test_an_upload_can_be_cancelled(record: Record, phone: Caller) -> None:
    upload = begin(phone, named_on(record), HEAP[:HALF], Upload_Complete="?0")["Location"]
    assert phone.send("DELETE", upload).status_code == 204
    refused(phone.get(upload), 404, "not-found")
    assert nothing_is_left(record)


def test_lengths_that_contradict_each_other_are_refused(record: Record, phone: Caller) -> None:
    job, length = named_on(record), str(len(HEAP))
    upload = begin(phone, job, HEAP[:HALF], Upload_Complete="?0", Upload_Length=length)["Location"]
    for answer in (
        append(phone, upload, HEAP[HALF:], HALF, last=False, Upload_Length=str(len(HEAP) + 1)),
        append(phone, upload, HEAP[HALF:-1], HALF, last=True),
        append(phone, upload, HEAP[HALF:] + b"x", HALF, last=False),
    ):
        assert (answer.status_code, answer.json()["type"]) == (400, f"{IANA}inconsistent-upload-length")
    assert head(phone, upload)["Upload-Offset"] == str(HALF)


def test_what_a_request_lacks_is_named(record: Record, phone: Caller) -> None:
    job = named_on(record)
    path = f"/v1/jobs/{job}/evidence_uploads"
    assert "Repr-Digest" in refused(phone.post(path, HEAP, "image/jpeg"), 400, "bad-input")["detail"]
    upload = begin(phone, job, HEAP[:HALF], Upload_Complete="?0")["Location"]
    bare = phone.send("PATCH", upload, HEAP[HALF:], PARTIAL)
    assert "Upload-Offset" in refused(bare, 400, "bad-input")["detail"]
    half = phone.send("PATCH", upload, HEAP[HALF:], PARTIAL, **{"Upload-Offset": str(HALF)})
    assert "Upload-Complete" in refused(half, 400, "bad-input")["detail"]
    refused(
        phone.send("PATCH", upload, HEAP[HALF:], "image/jpeg", **{"Upload-Offset": str(HALF)}), 415, "unsupported-media"
    )


def test_a_stored_file_that_was_lost_is_mended_by_sending_it_again(record: Record, phone: Caller) -> None:
    job = named_on(record)
    send(phone, job, HEAP)
    (path,) = on_disk(record)
    path.write_bytes(HEAP[:-1] + b"?")
    assert stored_file(record.company, DIGEST) is None
    assert send(phone, job, HEAP).status_code == 200
    assert stored_file(record.company, DIGEST) == HEAP


def test_uploads_that_nobody_goes_on_with_are_forgotten(record: Record, phone: Caller) -> None:
    job = named_on(record)
    begin(phone, job, HEAP[:HALF], Upload_Complete="?0")
    forget_old_uploads(company=record.company, now=now() + timedelta(days=6))
    assert rows(record) == (0, 1, 1)
    forget_old_uploads(company=record.company, now=now() + timedelta(days=8))
    assert nothing_is_left(record)
    connection.close()
