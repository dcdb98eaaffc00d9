"""A bundle out of the data base: complete, the same each time, and verified by whoever has only the file."""

import json
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from jobs.domain.log_key_change import log_note_key, log_origin
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Kind
from jobs.domain.verification_log import Trust
from jobs.queries.log import company_slug
from jobs.services.export_bundle import export_bundle
from jobs.services.keep_log import keep_log
from jobs.services.log_key import read_or_make_log_keys
from shops.domain.access import Role
from shops.domain.errors import NotFound, NotPermitted
from shops.services.register_shop import ShopRequest, register_shop
from tests.acts import SCRIPTS, Act, bolts, typed
from tests.bundles.second_verifier import rejects
from tests.record import Record
from tests.services.test_judge_again import withdraw
from tests.tampering import unprotected


@pytest.fixture
def key_file(tmp_path: Path, settings: Any) -> Path:
    settings.LOG_KEY_FILE = tmp_path / "log-key.pem"
    return tmp_path / "log-key.pem"


def trust(record: Record, key_file: Path) -> Trust:
    with transaction.atomic():
        record.enter()
        origin = log_origin(company_slug(record.company))
    return Trust(log_keys=tuple(log_note_key(origin, key) for key in read_or_make_log_keys(key_file)))


def keep(record: Record, later: int = 5) -> None:
    """Sequence and sign, `later` minutes from now."""
    now = datetime.now(UTC) + timedelta(minutes=later)
    while keep_log(company=record.company, now=now):
        pass


@contextmanager
def inside(record: Record) -> Iterator[None]:
    with transaction.atomic():
        record.enter()
        yield


def bundle_of(record: Record, job: Any, now: datetime | None = None) -> bytes:
    with inside(record):
        return export_bundle(grant=record.grant(), job=job, now=now or datetime.now(UTC))


def test_a_released_job_verifies_from_its_bundle_alone(record: Record, key_file: Path) -> None:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    keep(record)
    report = verify_bundle(bundle_of(record, job), trust(record, key_file))
    assert [remark.document() for remark in report.remarks] == []
    assert report.exit_code == 0
    assert report.job == str(job)


def found(raw: bytes, trusted: Trust) -> set[tuple[str, str]]:
    return {(remark.kind.name, remark.code) for remark in verify_bundle(raw, trusted).remarks}


def test_the_second_verifier_accepts_it_too_with_a_p256_phone_in_it(record: Record, key_file: Path) -> None:
    job = record.open_job("PR-12")
    record.rebuild(job, "PR-12")
    record.release(job, "PR-12")
    keep(record)
    raw = bundle_of(record, job)
    assert rejects(raw, [key.vkey for key in trust(record, key_file).log_keys]) is None
    with ZipFile(BytesIO(raw)) as archive:
        assert b'"crv":"P-256"' in archive.read("facts/device_keys.ndjson")


def test_a_job_in_work_verifies_as_far_as_it_is(record: Record, key_file: Path) -> None:
    job = record.open_job()
    keep(record)
    assert found(bundle_of(record, job), trust(record, key_file)) == set()
    record.play(job, SCRIPTS["PR-11"][:9])
    assert found(bundle_of(record, job), trust(record, key_file)) == {("UNCHECKED", "not_sequenced")}
    keep(record, 9)
    assert found(bundle_of(record, job), trust(record, key_file)) == set()


def test_a_qualification_withdrawn_a_moment_ago_contradicts_nothing(record: Record, key_file: Path) -> None:
    job = record.open_job()
    record.rebuild(job)
    withdraw(record, "OK")
    keep(record)
    mismatches = {code for kind, code in found(bundle_of(record, job), trust(record, key_file)) if kind == "MISMATCH"}
    assert mismatches == set()


def test_before_the_first_checkpoint_nothing_is_proved_and_nothing_contradicts(record: Record, key_file: Path) -> None:
    job = record.open_job()
    report = verify_bundle(bundle_of(record, job), Trust())
    assert {remark.kind for remark in report.remarks} == {Kind.UNCHECKED}
    assert {remark.code for remark in report.remarks} >= {"no_checkpoint", "not_sequenced"}


def test_findings_holds_and_amendments_are_drawn_again_the_same(record: Record, key_file: Path) -> None:
    job = record.open_job()
    acts = list(SCRIPTS["PR-11"][:12])
    acts[2:2] = [Act("LP", "hold", {"reason": "A crack is suspected."}), acts[6].by("LP")]
    receipts = record.play(job, acts)
    assert any(not receipt["credit"] for receipt in receipts)
    keep(record)
    assert found(bundle_of(record, job), trust(record, key_file)) == set()


def test_a_phone_that_worked_elsewhere_is_said_not_hidden(record: Record, key_file: Path) -> None:
    first, other = record.open_job("PR-11"), record.open_job("PR-12")
    record.log(first, SCRIPTS["PR-11"][0])
    record.log(other, SCRIPTS["PR-12"][0], "PR-12")
    record.log(first, SCRIPTS["PR-11"][1])
    keep(record)
    assert found(bundle_of(record, first), trust(record, key_file)) == {("NOTE", "other_jobs")}


def test_a_suspension_and_a_revocation_show_in_what_the_unit_may(record: Record, key_file: Path) -> None:
    job = record.open_job()
    record.rebuild(job)
    release = record.release(job)["id"]
    stopped = {"id": str(uuid.uuid4()), "reason": "A lot is looked at."}
    answer = record.as_role(Role.LEAD).post(f"/v1/releases/{release}/suspensions", stopped)
    assert answer.status_code == 201, answer.content
    keep(record)
    raw = bundle_of(record, job)
    assert found(raw, trust(record, key_file)) == set()
    assert claims(raw)["availability"]["reasons"] == ["release_suspended"]


def test_a_follow_up_and_the_rebuild_before_it_both_verify(record: Record, key_file: Path) -> None:
    rebuild = record.open_job()
    record.rebuild(rebuild)
    record.release(rebuild)
    follow_up = record.open_job(purpose="follow_up")
    readings = [typed("bolts-unmoved", "12", unit="1")]
    fasteners = bolts("base-bolts-again", 12)
    act = Act("JD", "step", {"step": "retorque", "readings": readings, "fasteners": fasteners})
    assert record.log(follow_up, act)["credit"]
    keep(record)
    assert found(bundle_of(record, rebuild), trust(record, key_file)) == set()
    assert found(bundle_of(record, follow_up), trust(record, key_file)) == {("NOTE", "other_jobs")}


def test_a_condemned_casting_verifies(record: Record, key_file: Path) -> None:
    job = record.open_job()
    record.log(job, SCRIPTS["PR-11"][0])
    first = record.log(job, Act("RM", "condemn", {"reason": "Cracked.", "step": "inspect-casting"}))
    record.log(job, Act("OK", "condemn", {"reason": "I see it too.", "concurs_with": first["entry"]}))
    keep(record)
    raw = bundle_of(record, job)
    assert found(raw, trust(record, key_file)) == set()
    assert claims(raw)["state"] == "condemned"


def test_a_job_that_went_to_another_shop_begins_where_it_was_opened(record: Record, key_file: Path) -> None:
    job = record.open_job()
    record.log(job, SCRIPTS["PR-11"][0])
    other = uuid.uuid4()
    with inside(record):
        register_shop(company=record.company, request=ShopRequest(other, "B", "Brayfen", "America/Chicago", "in"))
    offer = {"id": str(uuid.uuid4()), "to_shop": str(other), "reason": "No welder this week."}
    lead = record.as_role(Role.LEAD)
    assert lead.post(f"/v1/jobs/{job}/transfers", offer).status_code == 201
    taken = {"id": str(uuid.uuid4()), "reason": "It stands in the yard."}
    answer = record.as_role(Role.QUALITY).post(f"/v1/transfers/{offer['id']}/acceptances", taken)
    assert answer.status_code == 201, answer.content
    keep(record)
    assert found(bundle_of(record, job), trust(record, key_file)) == set()


def claims(raw: bytes) -> Any:
    with ZipFile(BytesIO(raw)) as archive:
        return json.loads(archive.read("claims.json"))


def test_credit_given_in_the_data_base_is_seen_from_the_bundle(record: Record, key_file: Path, owner: Any) -> None:
    job = record.open_job()
    refused = record.play(job, [SCRIPTS["PR-11"][10]])[0]
    assert not refused["credit"]
    keep(record)
    owner.execute("UPDATE entry_credits SET credit = true WHERE entry_id = %s", [refused["entry"]])
    assert ("MISMATCH", "credit") in found(bundle_of(record, job), trust(record, key_file))


def test_a_calibration_altered_in_the_data_base_is_seen_from_the_bundle(
    record: Record, key_file: Path, owner: Any
) -> None:
    job = record.open_job()
    record.rebuild(job)
    keep(record)
    with unprotected(owner, "calibrations"):
        owner.execute(
            "UPDATE calibrations SET due_at = due_at + interval '9 years' WHERE company_id = %s", [record.company]
        )
    assert ("MISMATCH", "row_changed") in found(bundle_of(record, job), trust(record, key_file))


def test_the_same_state_gives_the_same_bytes(record: Record, key_file: Path) -> None:
    job, now = record.open_job(), datetime.now(UTC)
    record.play(job, SCRIPTS["PR-11"][:5])
    keep(record)
    assert bundle_of(record, job, now) == bundle_of(record, job, now)


def test_over_the_api_it_is_a_zip_and_every_export_is_written_down(record: Record, key_file: Path) -> None:
    job = record.open_job()
    answer = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/bundle")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/zip"
    assert verify_bundle(answer.content, Trust()).job == str(job)
    lines = record.as_role(Role.AUDITOR).get("/v1/access_log").json()["items"]
    assert f"/v1/jobs/{job}/bundle" in [line["path"] for line in lines]


def test_out_of_scope_there_is_no_bundle_and_dates_do_not_cut_one(record: Record, key_file: Path) -> None:
    job = record.open_job()
    record.log(job, SCRIPTS["PR-11"][0])
    with inside(record):
        far = replace(record.grant(Role.AUDITOR), shops=frozenset({uuid.uuid4()}))
        with pytest.raises(NotFound):
            export_bundle(grant=far, job=job, now=datetime.now(UTC))
        later = replace(record.grant(Role.AUDITOR), records_from=datetime.now(UTC))
        with pytest.raises(NotFound):
            export_bundle(grant=later, job=job, now=datetime.now(UTC))
        dated = replace(later, records_from=datetime.now(UTC) - timedelta(days=1))
        with pytest.raises(NotPermitted):
            export_bundle(grant=dated, job=job, now=datetime.now(UTC))


def test_the_command_writes_a_bundle_that_verifies(record: Record, key_file: Path, tmp_path: Path) -> None:
    job = record.open_job()
    keep(record)
    with inside(record):
        slug = company_slug(record.company)
    call_command("export_bundle", str(job), company=slug, out=tmp_path / "job.zip", stdout=StringIO())
    assert found((tmp_path / "job.zip").read_bytes(), trust(record, key_file)) == {("NOTE", "record_not_checked")}
    with pytest.raises(CommandError, match="no such job"):
        call_command("export_bundle", str(uuid.uuid4()), company=slug, out=tmp_path / "none.zip")


def test_what_a_phone_had_seen_is_in_the_bundle_and_gives_its_entries_their_window(
    record: Record, key_file: Path
) -> None:
    """From the offline pack through the signature, the log and the bundle to the auditor's verifier; and in the API."""
    job = record.open_job()
    record.play(job, SCRIPTS["PR-11"][:1])
    keep(record)
    pack = record.as_role(Role.TECHNICIAN).get(f"/v1/jobs/{job}/offline_pack").json()
    for phone in record.phones.values():
        phone.see(pack["checkpoint"])
    record.play(job, SCRIPTS["PR-11"][1:4])
    keep(record, 6)
    record.play(job, SCRIPTS["PR-11"][4:5])
    report = verify_bundle(bundle_of(record, job), trust(record, key_file))
    assert report.exit_code == 2, "one entry is under no checkpoint yet"
    assert {remark.code for remark in report.remarks} == {"not_sequenced"}
    assert [one.window.is_proved for one in report.windows] == [False, True, True, True, False]
    assert [one.window.below.value for one in report.windows] == ["none_named", *["proved"] * 4]
    listed = record.as_role(Role.AUDITOR).get(f"/v1/jobs/{job}/entries").json()["items"]
    assert [one["window"] for one in listed] == [one.window.document() for one in report.windows]
    assert listed[1]["window"]["after"]["size"] == pack["checkpoint"]["size"]


def test_a_checkpoint_that_the_log_never_signed_costs_no_credit_and_is_shown(record: Record, key_file: Path) -> None:
    job = record.open_job()
    record.phones["RM"].seen_checkpoint = {"size": 3, "root": "ab" * 32}
    (entry,) = record.play(job, SCRIPTS["PR-11"][:1])
    assert entry["credit"] is True
    keep(record)
    windows = [one["window"] for one in record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/entries").json()["items"]]
    assert [(one["proved"], one["below"], one["after"]) for one in windows] == [(False, "not_here", None)]
    report = verify_bundle(bundle_of(record, job), trust(record, key_file))
    assert ("seen_not_here", "entries/000001.jws") in {(one.code, one.where) for one in report.remarks}
