"""A follow-up whose step asks for photos is complete when they are named and have arrived, as a release has it."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from jobs.demo.picture import picture, picture_digest
from jobs.domain.evidence_named import Arrival
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Kind
from jobs.queries import photos_awaited
from jobs.services.complete_follow_ups import complete_follow_ups
from shops.domain.access import Role
from tests import record as records
from tests.acts import Act
from tests.api.problems import refused
from tests.record import Record, build_record
from tests.services.test_export_bundle import bundle_of, keep, key_file, trust
from tests.services.test_follow_up import availability, codes, retorque, state_of
from tests.uploading import DIGEST, HEAP, send

__all__ = ["key_file"]  # a fixture
RETORQUE = "      cautions: [Chock the unit and take the key.]\n"
OTHER = picture("the bolts, from below")


@pytest.fixture
def released(committed: Any, monkeypatch: pytest.MonkeyPatch) -> Record:
    """Released under a revision whose re-torque asks for a photo."""
    text = records.procedure_text("PR-11")
    assert text.count(RETORQUE) == 1
    asking = text.replace(RETORQUE, f"{RETORQUE}      photos: 1\n")
    monkeypatch.setattr(records, "procedure_text", lambda _code: asking)
    record = build_record(procedures=["PR-11"])
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    return record


def work(record: Record) -> None:
    """A round of the worker's duty."""
    assert complete_follow_ups(company=record.company, now=datetime.now(UTC)) is False


def gate(record: Record, job: UUID) -> list[str]:
    blockers = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()["blockers"]
    return [blocker["code"] for blocker in blockers]


def amended(record: Record, job: UUID, receipt: Any, digest: str) -> Any:
    content = {"kind": "step", **retorque("12").body}
    body = {"amends": receipt["entry"], "reason": "The photo.", "content": content, "evidence": [digest]}
    return record.log(job, Act("RM", "amendment", body))


def test_a_follow_up_that_names_no_photo_stays_open_until_an_amendment_names_one(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    receipt = released.log(job, retorque("12"))
    assert receipt["credit"]
    assert (state_of(released, job), gate(released, job)) == ("open", ["not_a_rebuild", "photo_missing"])
    assert codes(released) == ["job_open"]
    send(released.as_role(Role.TECHNICIAN), job, HEAP)
    work(released)
    assert state_of(released, job) == "open"
    amended(released, job, receipt, DIGEST)
    assert (state_of(released, job), availability(released)["state"]) == ("completed", "available")


def test_a_follow_up_waits_for_its_photo_and_is_complete_when_that_has_arrived(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    assert released.log(job, retorque("12", evidence=[DIGEST]))["credit"]
    assert (state_of(released, job), gate(released, job)) == ("open", ["not_a_rebuild", "photo_not_arrived"])
    work(released)
    assert (state_of(released, job), codes(released)) == ("open", ["job_open"])
    before = version(released)
    send(released.as_role(Role.TECHNICIAN), job, HEAP)
    work(released)
    work(released)
    assert (state_of(released, job), availability(released)["state"]) == ("completed", "available")
    assert version(released) == before + 1
    release = released.as_role(Role.DISPATCH).get(f"/v1/releases?unit={released.units['PR-11']}").json()["items"][0]
    assert release["follow_up_job"] == str(job)


def version(record: Record) -> int:
    return int(availability(record)["availability_version"])


def test_of_two_photos_both_are_waited_for(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    released.log(job, retorque("12", evidence=[DIGEST, picture_digest(OTHER)]))
    phone = released.as_role(Role.TECHNICIAN)
    send(phone, job, OTHER)
    work(released)
    assert state_of(released, job) == "open"
    send(phone, job, HEAP)
    work(released)
    assert state_of(released, job) == "completed"


def test_a_photo_that_came_first_is_not_waited_for(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    send(released.as_role(Role.TECHNICIAN), job, HEAP)
    released.log(job, retorque("12", evidence=[DIGEST]))
    assert state_of(released, job) == "completed"


def test_a_photo_completes_nothing_that_somebody_holds(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    released.log(job, retorque("12", evidence=[DIGEST]))
    held = released.log(job, Act("OK", "hold", {"reason": "Two bolts are loose."}))
    send(released.as_role(Role.TECHNICIAN), job, HEAP)
    work(released)
    assert state_of(released, job) == "open"
    released.log(job, Act("JD", "clear", {"hold": held["entry"], "reason": "Looked at it: all is well."}))
    assert state_of(released, job) == "completed"


def test_a_second_follow_up_is_refused_while_the_first_waits_for_its_photo(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    released.log(job, retorque("12", evidence=[DIGEST]))
    request = released.job_request(UUID(int=7), purpose="follow_up")
    refused(released.as_role(Role.DISPATCH).post("/v1/jobs", request), 409, "job-already-open")


def remarks(record: Record, job: UUID, key_file: Path) -> list[tuple[str, str]]:
    keep(record)
    report = verify_bundle(bundle_of(record, job), trust(record, key_file))
    return [(remark.code, remark.what) for remark in report.remarks if remark.kind is Kind.MISMATCH]


def test_the_verifier_finds_nothing_in_a_follow_up_that_was_complete(released: Record, key_file: Path) -> None:
    job = released.open_job(purpose="follow_up")
    released.log(job, retorque("12", evidence=[DIGEST]))
    send(released.as_role(Role.TECHNICIAN), job, HEAP)
    work(released)
    assert remarks(released, job, key_file) == []


def test_the_verifier_finds_a_follow_up_that_was_let_through_without_its_photo(
    released: Record, key_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever runs the server makes it believe that the photo is here."""
    job = released.open_job(purpose="follow_up")
    here = {DIGEST: Arrival(datetime.now(UTC))}
    monkeypatch.setattr(photos_awaited, "arrivals_of", lambda _company, _digests: here)
    released.log(job, retorque("12", evidence=[DIGEST]))
    assert state_of(released, job) == "completed"
    ((code, what),) = remarks(released, job, key_file)
    assert code == "follow_up_incomplete"
    assert what == f"The photo {DIGEST}, which “Check the base bolts” names, had not arrived."


def test_the_verifier_finds_a_follow_up_that_was_let_through_without_naming_a_photo(
    released: Record, key_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = released.open_job(purpose="follow_up")
    monkeypatch.setattr("jobs.services.follow_through.is_followed_up", lambda _bench: True)
    released.log(job, retorque("12"))
    assert state_of(released, job) == "completed"
    ((code, what),) = remarks(released, job, key_file)
    assert code == "follow_up_incomplete"
    assert "asks for 1 photo; none is named." in what


def test_the_verifier_takes_a_follow_up_that_was_undone_and_stopped_the_release(
    released: Record, key_file: Path
) -> None:
    job = released.open_job(purpose="follow_up")
    send(released.as_role(Role.TECHNICIAN), job, HEAP)
    released.log(job, retorque("12", evidence=[DIGEST]))
    released.log(job, Act("OK", "hold", {"reason": "Two bolts are loose."}))
    assert codes(released) == ["release_suspended"]
    assert remarks(released, job, key_file) == []
