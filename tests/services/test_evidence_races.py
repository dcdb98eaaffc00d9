"""Two phones at once, and a server that is killed between parts: nothing is lost, doubled or half there."""

import socket
import time
import uuid
from functools import partial
from http.client import HTTPConnection
from typing import Any

import psutil
from django.db import transaction

from jobs.demo.picture import picture, picture_digest
from jobs.domain.upload_fields import sha_256_field
from jobs.models.evidence import EvidenceFile
from jobs.queries.evidence_store import stored_file
from shops.domain.access import Role
from tests.record import Record
from tests.services.races import race, statuses
from tests.services.test_log_serve import Start, says, start
from tests.services.test_log_worker import until
from tests.uploading import HEAP, PARTIAL, append, begin, head, named_on, send

__all__ = ["start"]  # a fixture
HALF = len(HEAP) // 2


def test_two_phones_that_send_the_same_file_at_once_both_succeed_and_one_file_is_there(record: Record) -> None:
    job = named_on(record)
    for turn in range(4):
        content = picture(f"heap {turn}")
        answers = race(*(partial(send, record.as_role(role), job, content) for role in (Role.TECHNICIAN, Role.LEAD)))
        assert statuses(answers) == [200, 201]
        assert stored_file(record.company, picture_digest(content)) == content
    with transaction.atomic():
        record.enter()
        assert EvidenceFile.objects.count() == 4


def test_a_part_that_is_sent_twice_at_once_is_appended_once(record: Record) -> None:
    job, phone = named_on(record), record.as_role(Role.TECHNICIAN)
    upload = begin(phone, job, HEAP[:50], Upload_Complete="?0")["Location"]
    part = HEAP[50:HALF]
    answers = race(*(lambda: append(record.as_role(Role.TECHNICIAN), upload, part, 50, last=False) for _ in range(3)))
    assert statuses(answers) == [200, 409, 409]
    assert head(phone, upload)["Upload-Offset"] == str(HALF)
    assert append(phone, upload, HEAP[HALF:], HALF, last=True).status_code == 201


def test_an_upload_that_is_begun_twice_at_once_is_one(record: Record) -> None:
    job = named_on(record)
    answers = race(
        *(lambda: begin(record.as_role(Role.TECHNICIAN), job, HEAP[:50], Upload_Complete="?0") for _ in range(3))
    )
    assert statuses(answers) == [201, 201, 201]
    assert len({answer["Location"] for answer in answers}) == 1


def asked(port: int, record: Record, method: str, path: str, body: bytes = b"", **fields: str) -> Any:
    """One request on a connection of its own, as a phone makes it."""
    connection = HTTPConnection("127.0.0.1", port, timeout=120)
    headers = {name.replace("_", "-"): text for name, text in fields.items()}
    connection.request(method, path, body, {**headers, "Authorization": f"Bearer {record.tokens[Role.TECHNICIAN]}"})
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer


def test_a_phone_goes_on_where_it_was_after_the_server_was_killed_between_parts(record: Record, start: Start) -> None:
    job = named_on(record)
    serve, port = start("--no-migrate")
    assert says(serve, "Serving on")
    upload = begin_over(port, record, job)
    part = asked(
        port, record, "PATCH", upload, HEAP[50:HALF], Upload_Offset="50", Upload_Complete="?0", Content_Type=PARTIAL
    )
    assert (part.status, part.headers["Upload-Offset"]) == (200, str(HALF))
    _kill(serve)
    again, port = start("--no-migrate")
    assert says(again, "Serving on")
    found = asked(port, record, "HEAD", upload)
    assert (found.headers["Upload-Offset"], found.headers["Upload-Complete"]) == (str(HALF), "?0")
    done = asked(
        *(port, record, "PATCH", upload, HEAP[HALF:]),
        Upload_Offset=str(HALF),
        Upload_Complete="?1",
        Content_Type=PARTIAL,
    )
    assert (done.status, done.headers["Upload-Complete"]) == (201, "?1")


def test_what_came_before_the_line_broke_is_kept(record: Record, start: Start) -> None:
    """The last part breaks off: its socket is closed in the middle of it."""
    job, content = named_on(record), HEAP + bytes(200_000)
    serve, port = start("--no-migrate")
    assert says(serve, "Serving on")
    upload = begin_over(port, record, job, content)
    part = content[50:]
    with socket.create_connection(("127.0.0.1", port)) as line:
        line.sendall(patch_head(record, upload, 50, len(part)) + part[:100_000])
        time.sleep(0.5)
    until(lambda: int(asked(port, record, "HEAD", upload).headers["Upload-Offset"]) > 50)
    stands = asked(port, record, "HEAD", upload)
    offset = int(stands.headers["Upload-Offset"])
    assert offset <= 50 + 100_000
    assert stands.headers["Upload-Complete"] == "?0"
    fields = {"Upload_Offset": str(offset), "Upload_Complete": "?1", "Content_Type": PARTIAL}
    assert asked(port, record, "PATCH", upload, content[offset:], **fields).status == 201


def patch_head(record: Record, upload: str, offset: int, length: int) -> bytes:
    fields = {
        "Host": "localhost",
        "Authorization": f"Bearer {record.tokens[Role.TECHNICIAN]}",
        "Content-Type": PARTIAL,
        "Upload-Offset": str(offset),
        "Upload-Complete": "?1",
        "Content-Length": str(length),
    }
    told = "".join(f"{name}: {text}\r\n" for name, text in fields.items())
    return f"PATCH {upload} HTTP/1.1\r\n{told}\r\n".encode()


def begin_over(port: int, record: Record, job: uuid.UUID, content: bytes = HEAP) -> str:
    path = f"/v1/jobs/{job}/evidence_uploads"
    fields = {
        "Repr_Digest": sha_256_field(picture_digest(content)),
        "Content_Type": "image/jpeg",
        "Upload_Complete": "?0",
    }
    answer = asked(port, record, "POST", path, content[:50], **fields)
    assert answer.status == 201
    return str(answer.headers["Location"])


def _kill(serve: Any) -> None:
    """The supervisor and all that it watches, with no time to tidy up."""
    family = [psutil.Process(serve.pid), *psutil.Process(serve.pid).children(recursive=True)]
    for process in family:
        process.kill()
    psutil.wait_procs(family, timeout=60)
