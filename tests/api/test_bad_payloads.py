"""A payload that is no entry, of another time or another job, is refused with what is wrong, and leaves no row."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from jobs.demo.phone import ENTRY_TYP
from shops.domain.access import Role
from tests.acts import PR_11, Act, step
from tests.api.handmade import Bench, Make, deep, rows, tampered, with_text
from tests.api.problems import pointers, refused, without_request_id
from tests.record import JOSE, Record


def seen(**changed: Any) -> dict[str, Any]:
    return {"size": 812, "root": "ab" * 32, **changed}


BAD_PAYLOADS: dict[str, tuple[Make, str]] = {
    "no JSON": (lambda bench: bench.raw(b"hello"), ""),
    "a list": (lambda bench: bench.raw(b"[]"), ""),
    "null": (lambda bench: bench.raw(b"null"), ""),
    "invalid UTF-8": (lambda bench: bench.raw(b'{"kind":"\xff"}'), ""),
    "a byte order mark": (lambda bench: bench.raw(b"\xef\xbb\xbf{}"), ""),
    "NUL": (lambda bench: with_text(bench, "identify", "iden\\u0000tify"), ""),
    "raw NUL": (lambda bench: with_text(bench, "identify", "iden\x00tify"), ""),
    "half a surrogate pair": (lambda bench: with_text(bench, "identify", "\\ud800"), ""),
    "half a pair as a name": (lambda bench: with_text(bench, '"kind"', '"\\udc00": 1, "kind"'), ""),
    "deep": (lambda bench: bench.raw(deep(40).encode()), ""),
    "very deep": (lambda bench: bench.raw((b"[" * 20000) + (b"]" * 20000)), ""),
    "a member twice": (lambda bench: with_text(bench, '"kind"', '"kind": "hold", "kind"'), ""),
    "NaN": (lambda bench: with_text(bench, "9000", "NaN"), ""),
    "a float": (lambda bench: with_text(bench, "9000", "1.5"), ""),
    "a huge number": (lambda bench: with_text(bench, "9000", "9" * 400), ""),
    "2 to the 53": (lambda bench: with_text(bench, "9000", str(2**53)), ""),
    "no number": (lambda bench: bench.token(device_seq="9"), "/device_seq"),
    "true for a number": (lambda bench: bench.token(device_seq=True), "/device_seq"),
    "nought": (lambda bench: bench.token(device_seq=0), "/device_seq"),
    "empty": (lambda bench: bench.raw(b"{}"), "/kind"),
    "unknown kind": (lambda bench: bench.token(kind="dispatch"), "/kind"),
    "kind an object": (lambda bench: bench.token(kind={"a": 1}), "/kind"),
    "unknown member": (lambda bench: bench.token(approved=True), "/approved"),
    "no entry id": (lambda bench: bench.token(entry=None), "/entry"),
    "UUID of version 4": (lambda bench: bench.token(entry=str(uuid.uuid4())), "/entry"),
    "job no UUID": (lambda bench: bench.token(job="4107"), "/job"),
    "naive time": (lambda bench: bench.token(performed_at="2026-03-02T07:10:00"), "/performed_at"),
    "a date": (lambda bench: bench.token(performed_at="2026-03-02"), "/performed_at"),
    "a number as time": (lambda bench: bench.token(performed_at=1772435400), "/performed_at"),
    "no time": (lambda bench: bench.token(performed_at="now"), "/performed_at"),
    "year one": (lambda bench: bench.token(performed_at="0001-01-01T00:00:00+14:00"), "/performed_at"),
    "year 9999": (lambda bench: bench.token(performed_at="9999-12-31T23:59:59-14:00"), "/performed_at"),
    "digest in capitals": (lambda bench: bench.token(procedure="AB" * 32), "/procedure"),
    "step not in the procedure": (lambda bench: bench.token(step="paint"), "/step"),
    "step a list": (lambda bench: bench.token(step=["identify"]), "/step"),
    "step without a name": (lambda bench: bench.token(step="  "), "/step"),
    "a seen checkpoint that is a text": (lambda bench: bench.token(seen_checkpoint="812"), "/seen_checkpoint"),
    "a seen checkpoint of no size": (lambda bench: bench.token(seen_checkpoint=seen(size=0)), "/seen_checkpoint/size"),
    "a seen root in base64": (lambda bench: bench.token(seen_checkpoint=seen(root="QUJD")), "/seen_checkpoint/root"),
    "a seen cosignature that is none": (
        lambda bench: bench.token(seen_checkpoint=seen(cosignature="w1")),
        "/seen_checkpoint/cosignature",
    ),
    "a seen checkpoint with more": (lambda bench: bench.token(seen_checkpoint=seen(at=1)), "/seen_checkpoint/at"),
    "a text too long": (lambda bench: bench.token(note="x" * 4001), "/note"),
    "a reading that is none": (lambda bench: bench.token(readings=[3]), "/readings/0"),
    "51 readings": (
        lambda bench: bench.token(readings=[{"characteristic": "x", "values": []}] * 51),
        "/readings",
    ),
    "release among entries": (
        lambda bench: bench.phone.sign(
            {
                **{name: value for name, value in bench.payload().items() if name != "step"},
                "kind": "release",
                "chain_head": "00" * 32,
                "statement": "x",
            },
            ENTRY_TYP,
        ),
        "/kind",
    ),
}


@pytest.mark.parametrize("name", BAD_PAYLOADS)
def test_a_payload_that_is_no_entry_is_refused_with_its_place(bench: Bench, committed: Any, name: str) -> None:
    make, pointer = BAD_PAYLOADS[name]
    before = rows(bench.record)
    problem = refused(bench.post(make(bench)), 422, "bad-entry")
    assert pointer in pointers(problem)
    assert rows(bench.record) == before


def test_everything_wrong_with_a_payload_is_named_at_once(bench: Bench, committed: Any) -> None:
    token = bench.token(device_seq=-1, performed_at="now", job=7, colour="red")
    problem = refused(bench.post(token), 422, "bad-entry")
    assert set(pointers(problem)) == {"/device_seq", "/performed_at", "/job", "/colour"}


@pytest.mark.parametrize("ahead", [timedelta(minutes=3), timedelta(days=400)])
def test_an_act_of_the_future_is_refused(bench: Bench, committed: Any, ahead: timedelta) -> None:
    before = rows(bench.record)
    token = bench.token(performed_at=(datetime.now(UTC) + ahead).isoformat())
    refused(bench.post(token), 422, "from-the-future")
    assert rows(bench.record) == before


@pytest.mark.parametrize(
    "told",
    [
        "2026-03-02T07:10:00",
        "yesterday",
        "2026-03-02",
        "",
        "9999-12-31T23:59:59-14:00",
        f"{datetime.now(UTC):%G-W%V-%uT%H:%M:%SZ}",
        f"{datetime.now(UTC):%Y%m%dT%H%M%SZ}",
    ],
    ids=["no offset", "a word", "a day", "nothing", "far off", "a week", "no dashes"],
)
def test_a_device_time_that_is_none_is_refused(bench: Bench, committed: Any, told: str) -> None:
    before = rows(bench.record)
    problem = refused(bench.post(bench.token(), **{"Device-Time": told}), 400, "bad-input")
    assert pointers(problem) == ["/device_time"]
    assert rows(bench.record) == before


def test_an_id_taken_by_other_content_is_a_conflict(record: Record) -> None:
    bench = Bench(record, record.open_job())
    first = bench.payload()
    assert bench.post(bench.phone.sign(first, ENTRY_TYP)).status_code == 201
    before = rows(record)
    second = bench.phone.sign({**first, "note": "Another story"}, ENTRY_TYP)
    refused(bench.post(second), 409, "already-exists")
    assert rows(record) == before


def test_an_id_taken_on_another_job_is_a_conflict(record: Record) -> None:
    bench = Bench(record, record.open_job())
    first = bench.payload()
    assert bench.post(bench.phone.sign(first, ENTRY_TYP)).status_code == 201
    other = record.open_job("PR-12")
    before = rows(record)
    moved = {**first, "job": str(other), "procedure": record.digests["PR-12"]}
    refused(bench.post(bench.phone.sign(moved, ENTRY_TYP)), 409, "already-exists")
    assert rows(record) == before


def test_a_job_of_another_company_looks_like_one_that_never_was(bench: Bench, record: Record) -> None:
    foreign = record.open_job()
    before = rows(bench.record), rows(record)
    answers = [bench.post(bench.token(job=str(job))) for job in (foreign, uuid.uuid4())]
    for answer in answers:
        refused(answer, 404, "not-found")
    assert without_request_id(answers[0]) == without_request_id(answers[1])
    assert (rows(bench.record), rows(record)) == before


def test_a_bad_entry_among_good_ones_harms_no_other(record: Record) -> None:
    bench = Bench(record, record.open_job())
    good = [record.sign(bench.job, act).decode() for act in PR_11[:3]]
    bad = [
        ("", 422),
        ("Grüße", 422),
        (7, 422),
        (tampered(bench.token()).decode(), 422),
        (bench.token(step="paint").decode(), 422),
        (bench.token(job=str(uuid.uuid4())).decode(), 404),
        (record.phones["RM"].sign({**_read(good[0]), "note": "x"}, ENTRY_TYP).decode(), 409),
    ]
    before = rows(record)
    sent = [good[0], bad[0][0], bad[1][0], good[1], *(text for text, _ in bad[2:]), good[2], good[0]]
    answer = record.as_role(Role.TECHNICIAN).post("/v1/entry_batches", {"entries": sent})
    results = answer.json()["results"]
    assert [result["status"] for result in results] == [201, 422, 422, 201, 422, 422, 422, 404, 409, 201, 201]
    assert [result["entry"]["position"] for result in results if "entry" in result] == [1, 2, 3, 1]
    assert all(result["problem"]["type"] and result["problem"]["detail"] for result in results if "problem" in result)
    after = rows(record)
    assert after["entries"] - before["entries"] == 3
    assert after["queue"] - before["queue"] == 3


def _read(token: str) -> dict[str, Any]:
    from shops.domain.jws import parse_payload, read_compact

    return parse_payload(read_compact(token.encode()).payload)


def test_a_sequence_far_ahead_shows_as_a_gap_and_takes_no_time(record: Record) -> None:
    bench = Bench(record, record.open_job())
    assert bench.post(bench.token(device_seq=2**53 - 1)).status_code == 201
    gate = record.as_role(Role.LEAD).get(f"/v1/jobs/{bench.job}/gate").json()
    gap = next(blocker for blocker in gate["blockers"] if blocker["code"] == "device_gap")
    assert "1 to 9007199254740990" in gap["what"]


def test_a_preview_stores_nothing(bench: Bench, committed: Any) -> None:
    before = rows(bench.record)
    token = bench.record.sign(bench.job, Act("RM", "step", step("identify").body))
    answer = bench.record.as_role(Role.TECHNICIAN).post("/v1/entry_previews", token, JOSE)
    assert (answer.status_code, answer.json()["credit"]) == (200, True)
    assert rows(bench.record) == before
