"""Letting evidence go: by two people, after every rule has run out, under no hold; and what is left of it."""

import uuid
from collections.abc import Callable
from datetime import UTC, timedelta

import pytest
from django.db import transaction

from jobs.queries.evidence_check import evidence_check
from jobs.queries.evidence_store import stored_file
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from tests.api.problems import pointers, refused
from tests.letting_go import (
    REASON,
    Later,
    administrator,
    approve,
    body,
    codes,
    later,
    person,
    propose,
    quality,
    released_job,
    work,
)
from tests.record import Caller, Record, add_unit, build_record, issue_token
from tests.uploading import DIGEST, HEAP, NAMES_HEAP, file_path, on_disk, send

__all__ = ["administrator", "later", "quality"]  # fixtures


def test_two_people_let_a_file_go_and_its_name_and_theirs_stay(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    proposed = propose(quality, job)
    assert (proposed.status_code, proposed.json()["state"]) == (201, "proposed")
    deletion = proposed.json()["id"]
    assert quality.get(file_path(job)).content == HEAP
    approved = approve(administrator, deletion)
    assert (approved.status_code, approved.json()["state"], approved.json()["removed"]) == (201, "approved", 0)
    document = refused(quality.get(file_path(job)), 410, "gone")
    told = {name: document[name] for name in ("deletion", "proposed_by", "decided_by", "reason")}
    assert told == {
        "deletion": deletion,
        "proposed_by": "quality: PI",
        "decided_by": "administrator: NN",
        "reason": REASON,
    }
    assert on_disk(record)
    work(record)
    work(record)
    assert on_disk(record) == []
    assert quality.get(f"/v1/evidence_deletions/{deletion}").json()["removed"] == 1
    refused(quality.get(file_path(job)), 410, "gone")
    named = quality.get(f"/v1/jobs/{job}/evidence_files").json()["items"]
    assert {(one["digest"], one["state"]) for one in named} == {(DIGEST, "deleted")}
    assert quality.get(f"/v1/jobs/{job}/gate").json()["blockers"] == []
    assert list(evidence_check(record.company)) == []


def test_what_was_let_go_does_not_come_back(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    approve(administrator, propose(quality, job).json()["id"])
    phone = person(record, Role.TECHNICIAN, "RM")
    refused(send(phone, job, HEAP), 410, "gone")
    work(record)
    refused(send(phone, job, HEAP), 410, "gone")
    assert on_disk(record) == []
    assert pointers(refused(propose(quality, job), 400, "bad-input")) == ["/digests/0"]


def test_a_file_stays_until_the_last_rule_has_run_out(record: Record, quality: Caller) -> None:
    job = released_job(record)
    assert codes(propose(quality, job)) == ["kept_by_rule"]
    told = quality.get(f"/v1/jobs/{job}/retention").json()
    assert {clock["rule"] for clock in told["clocks"]} == {
        *("maintenance_record", "correction_certificate", "driver_report", "periodic_inspection"),
    }
    (file,) = told["files"]
    assert file["may_go_on"] == max(clock["until"] for clock in told["clocks"])
    assert [found["code"] for found in file["obstacles"]] == ["kept_by_rule"]
    left = quality.get(f"/v1/jobs/{job}/retention?left_control_on=2031-08-31").json()
    assert left["files"][0]["may_go_on"] == "2032-02-29"


def test_a_later_day_on_which_the_unit_left_keeps_it_longer(
    record: Record, quality: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    left = Later.now(UTC).date() - timedelta(days=100)
    assert codes(propose(quality, job, left_control_on=left.isoformat())) == ["kept_by_rule"]


@pytest.mark.parametrize("pair", ["same token", "two tokens of one person", "two tokens with one label"])
def test_who_proposed_it_does_not_decide_it(record: Record, later: Callable[[], None], pair: str) -> None:
    job, technician = released_job(record), record.people["JD"]
    later()
    proposer = person(record, Role.QUALITY, "PI", technician if "person" in pair else None)
    decider = {
        "same token": lambda: proposer,
        "two tokens of one person": lambda: person(record, Role.ADMINISTRATOR, "JD again", technician),
        "two tokens with one label": lambda: person(record, Role.ADMINISTRATOR, "PI"),
    }[pair]()
    deletion = propose(proposer, job).json()["id"]
    refused(approve(decider, deletion), 403, "not-permitted")
    work(record)
    assert stored_file(record.company, DIGEST) == HEAP


@pytest.mark.parametrize("on", ["job", "unit", "company", "unit hold"])
def test_under_a_legal_hold_nothing_is_proposed_or_decided(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None], on: str
) -> None:
    job = released_job(record)
    later()
    deletion = propose(quality, job).json()["id"]
    auditor = person(record, Role.AUDITOR, "NU")
    unit = str(record.units["PR-11"])
    if on == "unit hold":
        path, hold = f"/v1/units/{unit}/holds", body(kind="legal_hold")
        assert person(record, Role.QUALITY, "QQ").post(path, hold).status_code == 201
    else:
        scope = {"job": {"job": str(job)}, "unit": {"unit": unit}, "company": {}}[on]
        hold = body(**scope)
        assert auditor.post("/v1/legal_holds", hold).status_code == 201
    assert codes(approve(administrator, deletion)) == ["legal_hold"]
    assert codes(propose(quality, job)) == ["legal_hold"]
    if on == "unit hold":
        quality.post(f"/v1/unit_holds/{hold['id']}/clearings", body())
    else:
        refused(auditor.post(f"/v1/legal_holds/{hold['id']}/liftings", body()), 403, "not-permitted")
        assert codes(approve(administrator, deletion)) == ["legal_hold"]
        lifted = quality.post(f"/v1/legal_holds/{hold['id']}/liftings", body())
        assert lifted.json()["lifting"]["recorded_by"] == "quality: PI"
    assert approve(administrator, deletion).status_code == 201


def test_a_hold_on_something_else_stops_nothing(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4120")
    later()
    assert quality.post("/v1/legal_holds", body(unit=str(unit))).status_code == 201
    assert approve(administrator, propose(quality, job).json()["id"]).status_code == 201


def test_an_open_job_and_a_suspended_release_keep_their_files(
    record: Record, quality: Caller, administrator: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    deletion = propose(quality, job).json()["id"]
    release = quality.get("/v1/releases").json()["items"][0]["id"]
    suspended = quality.post(f"/v1/releases/{release}/suspensions", body())
    assert suspended.status_code == 201, suspended.content
    assert codes(approve(administrator, deletion)) == ["release_suspended"]
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4120")
    other = open_on(record, unit)
    record_entry(record, other)
    assert {"release_suspended", "job_open"} <= set(codes(propose(quality, job)))


def open_on(record: Record, unit: uuid.UUID) -> uuid.UUID:
    job = uuid.uuid4()
    caller = person(record, Role.LEAD, "JD")
    answer = caller.post("/v1/jobs", record.job_request(job, unit=str(unit)))
    assert answer.status_code == 201, answer.content
    return job


def record_entry(record: Record, job: uuid.UUID) -> None:
    token = record.sign(job, NAMES_HEAP)
    answer = person(record, Role.TECHNICIAN, "RM").post("/v1/entries", token, "application/jose")
    assert answer.status_code == 201, answer.content


def test_another_job_that_names_the_file_keeps_it(record: Record, quality: Caller, later: Callable[[], None]) -> None:
    """And that other job's photo had arrived; a photo that was let go is none for a job that names it afterwards."""
    job = released_job(record)
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4120")
    other = record.open_job(unit=str(unit))
    record.play(other, [NAMES_HEAP])
    later()
    answer = propose(quality, job)
    assert codes(answer) == ["job_open"]
    assert answer.json()["obstacles"][0]["job"] == str(other)


def test_another_company_s_holds_and_deletions_are_unknown(
    record: Record, quality: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    deletion, hold = propose(quality, job).json()["id"], body()
    quality.post("/v1/legal_holds", hold)
    stranger = person(build_record(procedures=["PR-11"]), Role.QUALITY, "HG")
    for answer in (
        stranger.get(f"/v1/evidence_deletions/{deletion}"),
        approve(stranger, deletion),
        stranger.get(f"/v1/legal_holds/{hold['id']}"),
        stranger.post(f"/v1/legal_holds/{hold['id']}/liftings", body()),
        stranger.get(f"/v1/jobs/{job}/retention"),
        propose(stranger, job),
        stranger.post("/v1/legal_holds", body(job=str(job))),
    ):
        refused(answer, 404, "not-found")


def test_a_token_for_some_shops_lets_nothing_go(record: Record) -> None:
    job = released_job(record)
    with transaction.atomic():
        record.enter()

        narrow = Caller(issue_token(record, Role.QUALITY, TokenScope(shops=(record.shop,))))
    refused(propose(narrow, job), 403, "not-permitted")
    refused(narrow.post("/v1/legal_holds", body()), 403, "not-permitted")
    assert narrow.post("/v1/legal_holds", body(job=str(job))).status_code == 201


def test_what_cannot_be_proposed_is_named(record: Record, quality: Caller, later: Callable[[], None]) -> None:
    job = released_job(record)
    later()
    answer = propose(quality, job, DIGEST, "00" * 32)
    assert pointers(refused(answer, 400, "bad-input")) == ["/digests/0"]
    for wrong in ([], ["x"], [DIGEST.upper()], ["../../etc/passwd"]):
        refused(quality.post("/v1/evidence_deletions", body(job=str(job), digests=wrong)), 400, "bad-input")
    refused(quality.post("/v1/legal_holds", body(job=str(job), unit=str(record.units["PR-11"]))), 400, "bad-input")


def test_the_rules_are_told_with_their_sources(record: Record, quality: Caller) -> None:
    rules = quality.get("/v1/retention_rules").json()["items"]
    assert {rule["key"]: rule["months"] for rule in rules}["periodic_inspection"] == 14
    assert all(rule["law"] and rule["read_in"] for rule in rules)


def test_holds_and_deletions_are_listed_and_sent_again_are_the_same(
    record: Record, quality: Caller, later: Callable[[], None]
) -> None:
    job = released_job(record)
    later()
    for path, sent in (
        ("/v1/evidence_deletions", body(job=str(job), digests=[DIGEST])),
        ("/v1/legal_holds", body(job=str(job))),
    ):
        first, again = quality.post(path, sent), quality.post(path, sent)
        assert (first.status_code, again.status_code) == (201, 200), again.content
        assert first.json() == again.json()
        assert [one["id"] for one in quality.get(path).json()["items"]] == [sent["id"]]
        refused(quality.post(path, {**sent, "reason": "Another."}), 409, "already-exists")
