"""Evidence files of a job: waited for at the gate, listed with the phone that has them, served inside the scope only."""

import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from jobs.demo.picture import picture, picture_digest
from jobs.queries.evidence_check import evidence_check
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from tests.acts import PR_11, Act, step
from tests.api.problems import refused
from tests.record import JOSE, Caller, Record, add_unit, build_record, issue_token
from tests.uploading import DIGEST, HEAP, NAMES_HEAP, file_path, named_on, on_disk, send

WITH_PHOTO = tuple(NAMES_HEAP if act.step == "identify" else act for act in PR_11)


def scoped(record: Record, role: Role, **scope: Any) -> Caller:
    with transaction.atomic():
        record.enter()
        return Caller(issue_token(record, role, TokenScope(**scope)))


def test_the_gate_waits_for_a_photo_that_is_still_on_a_phone_and_says_on_whose(record: Record) -> None:
    job, lead = named_on(record, *WITH_PHOTO), record.as_role(Role.LEAD)
    (blocker,) = lead.get(f"/v1/jobs/{job}/gate").json()["blockers"]
    assert (blocker["code"], blocker["step"]) == ("photo_not_arrived", "identify")
    assert "1 of 1 has not arrived: named by RM on RM's phone." in blocker["what"]
    named, *others = lead.get(f"/v1/jobs/{job}/evidence_files").json()["items"]
    assert [(other["step"], other["state"]) for other in others] == [
        ("strip", "arrived"),
        ("base-and-fasteners", "arrived"),
    ]
    assert (named["digest"], named["state"], named["step"]) == (DIGEST, "missing", "identify")
    assert (named["by"], named["device"], named["key"]) == ("RM", "RM's phone", record.phones["RM"].key)
    token = record.release_token(job)
    answer = lead.post("/v1/releases", token, JOSE)
    assert [found["code"] for found in refused(answer, 409, "gate-closed")["blockers"]] == ["photo_not_arrived"]
    send(record.as_role(Role.TECHNICIAN), job, HEAP)
    assert lead.get(f"/v1/jobs/{job}/gate").json()["open"] is True
    assert lead.get(f"/v1/jobs/{job}/evidence_files").json()["items"][0]["state"] == "arrived"
    assert lead.post("/v1/releases", token, JOSE).status_code == 201


def test_nobody_gets_round_the_gate_by_naming_no_photo(record: Record) -> None:
    job, lead = record.open_job(), record.as_role(Role.LEAD)
    bare = step("identify")
    receipt = record.play(job, [bare if act.step == "identify" else act for act in PR_11])[0]
    assert [found["code"] for found in receipt["findings"]] == ["photo_missing"]
    gate = lead.get(f"/v1/jobs/{job}/gate").json()
    (blocker,) = gate["blockers"]
    assert (blocker["code"], blocker["step"], blocker["entry"]) == ("photo_missing", "identify", receipt["entry"])
    steps = {found["key"]: found for found in lead.get(f"/v1/jobs/{job}/steps").json()["items"]}
    assert steps["identify"]["missing"] == [blocker["what"]]
    assert blocker["what"].endswith("asks for 1 photo; none is named.")
    answer = lead.post("/v1/releases", record.release_token(job), JOSE)
    assert refused(answer, 409, "gate-closed")["blockers"] == [blocker]
    words = {"amends": receipt["entry"], "reason": "Forgotten.", "content": {"kind": "step", **bare.body}}
    assert record.log(job, Act("RM", "amendment", {**words, "evidence": [DIGEST]}))["findings"] == []
    (blocker,) = lead.get(f"/v1/jobs/{job}/gate").json()["blockers"]
    assert (blocker["code"], blocker["step"]) == ("photo_not_arrived", "identify")
    send(record.as_role(Role.TECHNICIAN), job, HEAP)
    assert lead.get(f"/v1/jobs/{job}/gate").json()["blockers"] == []
    record.release(job)


def test_a_photo_may_come_before_the_entry_that_names_it(record: Record) -> None:
    job, caller = record.open_job(), record.as_role(Role.TECHNICIAN)
    send(caller, job, HEAP)
    refused(caller.get(file_path(job)), 404, "not-found")
    record.play(job, WITH_PHOTO)
    assert record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()["open"] is True
    assert caller.get(file_path(job)).content == HEAP


def test_a_file_goes_out_as_it_came_with_headers_that_let_it_do_nothing(record: Record) -> None:
    job, caller = named_on(record), record.as_role(Role.TECHNICIAN)
    send(caller, job, HEAP)
    answer = caller.get(file_path(job))
    assert (answer.status_code, answer.content, answer["Content-Type"]) == (200, HEAP, "image/jpeg")
    assert answer["ETag"] == f'"{DIGEST}"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer["Content-Disposition"] == f'inline; filename="{DIGEST}.jpg"'
    assert answer["Cache-Control"] == "private, max-age=31536000, immutable"
    again = caller.get(file_path(job), **{"If-None-Match": answer["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    part = caller.get(file_path(job), Range="bytes=2-5")
    assert (part.status_code, part.content) == (206, HEAP[2:6])
    assert part["Content-Range"] == f"bytes 2-5/{len(HEAP)}"
    assert caller.get(file_path(job), Range=f"bytes={len(HEAP)}-").status_code == 416
    other = caller.get(file_path(job), **{"Range": "bytes=2-5", "If-Range": '"other"'})
    assert (other.status_code, other.content) == (200, HEAP)


def test_a_picture_with_a_page_behind_it_goes_out_as_a_picture_and_a_document_as_a_download(record: Record) -> None:
    polyglot, document = picture("heap") + b"<html><script>alert(1)</script>", b"%PDF-1.7\n%%EOF\n"
    digests = [picture_digest(polyglot), picture_digest(document)]
    job, caller = named_on(record, step("identify", evidence=digests)), record.as_role(Role.TECHNICIAN)
    for content, media in ((polyglot, "image/jpeg"), (document, "application/pdf")):
        assert send(caller, job, content, media=media).status_code == 201
    shown, downloaded = (caller.get(file_path(job, digest)) for digest in digests)
    assert (shown["Content-Type"], shown["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert downloaded["Content-Disposition"] == f'attachment; filename="{digests[1]}.pdf"'


def test_a_file_is_reached_through_a_job_that_names_it_and_through_no_other(record: Record) -> None:
    job, caller = named_on(record), record.as_role(Role.TECHNICIAN)
    send(caller, job, HEAP)
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4120")
    other = record.open_job(unit=str(unit))
    refused(caller.get(file_path(other)), 404, "not-found")
    record.play(other, [NAMES_HEAP])
    assert caller.get(file_path(other)).content == HEAP


def test_out_of_scope_and_another_company_s_look_like_unknown(record: Record) -> None:
    job = named_on(record)
    send(record.as_role(Role.TECHNICIAN), job, HEAP)
    now = datetime.now(UTC)
    stranger = build_record(procedures=["PR-11"]).as_role(Role.QUALITY)
    unknown = [
        stranger,
        scoped(record, Role.AUDITOR, shops=(uuid.uuid4(),)),
        scoped(record, Role.AUDITOR, carriers=(uuid.uuid4(),)),
        scoped(record, Role.AUDITOR, records_from=now + timedelta(hours=1)),
        scoped(record, Role.AUDITOR, records_to=now - timedelta(hours=1)),
    ]
    for caller in unknown:
        refused(caller.get(file_path(job)), 404, "not-found")
        refused(caller.get(f"/v1/jobs/{job}/evidence_files"), 404, "not-found")
    inside = {"shops": (record.shop,), "carriers": (record.carrier,), "records_to": now + timedelta(hours=1)}
    assert scoped(record, Role.AUDITOR, **inside).get(file_path(job)).content == HEAP


@pytest.mark.parametrize(
    "name",
    [
        "..%2F..%2F..%2Fetc%2Fpasswd",
        "%2e%2e",
        DIGEST.upper(),
        DIGEST + ".jpg",
        DIGEST[:-1],
        f"{DIGEST}%00",
        f"{DIGEST}%0A",
        "٣" * 64,
    ],
)
def test_names_that_are_no_digest_reach_nothing(record: Record, name: str) -> None:
    job, caller = named_on(record), record.as_role(Role.TECHNICIAN)
    send(caller, job, HEAP)
    refused(caller.get(file_path(job, name)), 404, "not-found")


def test_a_stored_file_that_was_altered_or_lost_is_not_handed_out(record: Record) -> None:
    job, caller = named_on(record), record.as_role(Role.TECHNICIAN)
    send(caller, job, HEAP)
    (path,) = on_disk(record)
    path.write_bytes(HEAP.replace(b"heap", b"hoop"))
    refused(caller.get(file_path(job)), 410, "file-damaged")
    path.unlink()
    refused(caller.get(file_path(job)), 410, "file-damaged")


def test_an_auditor_s_look_at_a_photo_is_written_down(record: Record) -> None:
    job = named_on(record)
    send(record.as_role(Role.TECHNICIAN), job, HEAP)
    record.as_role(Role.AUDITOR).get(file_path(job))
    looks = record.as_role(Role.QUALITY).get("/v1/access_log").json()["items"]
    assert file_path(job) in [look["path"] for look in looks]


def test_a_stored_file_is_readable_for_its_owner_only(record: Record) -> None:
    send(record.as_role(Role.TECHNICIAN), named_on(record), HEAP)
    (path,) = on_disk(record)
    assert path.stat().st_mode & 0o777 == 0o600
    assert [one for one in Path(path.parent).iterdir() if one.name.startswith(".")] == []


def faults(record: Record) -> list[tuple[str, str]]:
    return [(fault.code.value, fault.message) for fault in evidence_check(record.company)]


def test_a_check_of_the_record_names_files_that_are_gone_or_changed(record: Record) -> None:
    job = named_on(record)
    send(record.as_role(Role.TECHNICIAN), job, HEAP)
    assert faults(record) == []
    (path,) = on_disk(record)
    path.write_bytes(b"another")
    other = picture_digest(b"another")
    assert faults(record) == [("file_changed", f"the stored file {DIGEST} has the digest {other}")]
    path.unlink()
    assert faults(record) == [("file_gone", f"the file {DIGEST} is not in the store")]
