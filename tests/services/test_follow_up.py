"""The re-torque is a short job of its own: twelve bolts that did not move free the unit; one that did suspends it."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.services.publish_procedure import publish_procedure
from shops.domain.access import Role
from tests.acts import Act, bolts, typed
from tests.record import JOSE, Record, procedure_text


@pytest.fixture
def released(record: Record) -> Record:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    return record


def availability(record: Record) -> dict[str, Any]:
    unit = record.units["PR-11"]
    found: dict[str, Any] = record.as_role(Role.DISPATCH).get(f"/v1/units/{unit}/availability").json()
    return found


def codes(record: Record) -> list[str]:
    return [reason["code"] for reason in availability(record)["reasons"]]


def retorque(unmoved: str, kind: str = "step", **more: Any) -> Act:
    readings = [typed("bolts-unmoved", unmoved, unit="1")]
    body = {"step": "retorque", "readings": readings, "fasteners": bolts("base-bolts-again", 12), **more}
    return Act("RM", kind, body)


def state_of(record: Record, job: UUID) -> str:
    return str(record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()["state"])


def test_twelve_bolts_that_did_not_move_make_the_unit_free(released: Record) -> None:
    assert (availability(released)["state"], codes(released)) == ("limited", ["follow_up_due"])
    job = released.open_job(purpose="follow_up")
    assert codes(released) == ["job_open"]
    assert released.log(job, retorque("12"))["credit"]
    assert state_of(released, job) == "completed"
    assert (availability(released)["state"], codes(released)) == ("available", [])
    release = released.as_role(Role.DISPATCH).get(f"/v1/releases?unit={released.units['PR-11']}").json()["items"][0]
    assert (release["state"], release["follow_up_job"]) == ("in_force", str(job))


def test_a_bolt_that_moved_completes_nothing_and_suspends_the_release(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    moved = released.log(job, retorque("11"))
    assert not moved["credit"]
    assert state_of(released, job) == "open"
    assert codes(released) == ["job_open", "release_suspended"]
    reason = "The follow-up found it out of limits: Base bolts that did not move."
    assert reason in availability(released)["reasons"][1]["what"]


def test_after_a_bolt_that_moved_it_is_done_again_and_quality_lifts_the_suspension(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    released.log(job, retorque("11"))
    released.log(job, retorque("12", "rework", reason="Tightened all twelve anew; none moves now."))
    assert state_of(released, job) == "completed"
    assert codes(released) == ["release_suspended"]
    suspension = availability(released)["reasons"][0]["about"]
    lifting = {"id": str(uuid4()), "reason": "One bolt had a burr under its head; replaced."}
    path = f"/v1/suspensions/{suspension}/liftings"
    assert released.as_role(Role.LEAD).post(path, lifting).status_code == 403
    assert released.as_role(Role.QUALITY).post(path, lifting).status_code == 201
    assert availability(released)["state"] == "available"


def test_each_time_that_a_bolt_moved_the_release_is_suspended_anew(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    for _ in range(2):
        released.log(job, retorque("11", "rework", reason="Put the wrench on them."))
        assert codes(released) == ["job_open", "release_suspended"]
        suspension = availability(released)["reasons"][1]["about"]
        lifting = {"id": str(uuid4()), "reason": "The bolts are changed."}
        assert released.as_role(Role.QUALITY).post(f"/v1/suspensions/{suspension}/liftings", lifting).status_code == 201
        assert codes(released) == ["job_open"]


def test_a_follow_up_that_was_done_is_not_opened_again(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    released.log(job, retorque("12"))
    request = released.job_request(uuid4(), purpose="follow_up")
    answer = released.as_role(Role.DISPATCH).post("/v1/jobs", request)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/purpose")


def test_a_follow_up_is_not_released(released: Record) -> None:
    job = released.open_job(purpose="follow_up")
    gate = released.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()
    assert [blocker["code"] for blocker in gate["blockers"]] == ["not_a_rebuild"]


LOOSENED = Act(
    "RM",
    "rework",
    {"step": "retorque", "reason": "Came loose.", "fasteners": [{"key": "base-bolts-again", "count": 0}]},
)
AFTERWARDS = (
    LOOSENED,
    Act("OK", "hold", {"reason": "Two bolts are loose."}),
    Act("OK", "condemn", {"reason": "A crack beside the bore."}),
)


@pytest.mark.parametrize("act", AFTERWARDS[1:], ids=["hold", "condemn"])
def test_a_follow_up_that_somebody_holds_or_condemns_is_not_complete(released: Record, act: Act) -> None:
    job = released.open_job(purpose="follow_up")
    stopped = released.log(job, act)
    assert released.log(job, retorque("12"))["credit"]
    assert (state_of(released, job), codes(released)) == ("open", ["job_open"])
    decided = {"hold": stopped["entry"], "reason": "Looked at it: all is well."}
    assert released.log(job, Act("JD", "clear", decided))["credit"]
    assert (state_of(released, job), availability(released)["state"]) == ("completed", "available")


@pytest.mark.parametrize("act", AFTERWARDS, ids=["loosened", "held", "condemned"])
def test_what_is_done_to_a_complete_follow_up_suspends_the_release_again_and_again(released: Record, act: Act) -> None:
    job = released.open_job(purpose="follow_up")
    released.log(job, retorque("12"))
    assert availability(released)["state"] == "available"
    for _ in range(2):
        released.log(job, act)
        assert codes(released) == ["release_suspended"]
        lift(released)
        assert availability(released)["state"] == "available"


def test_more_work_after_a_lifted_suspension_suspends_the_release_anew(record: Record) -> None:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    for _ in range(2):
        record.log(job, Act("RM", "rework", {"step": "adjust", "reason": "Felt loose."}))
        assert codes(record) == ["release_suspended"]
        lift(record)
        assert codes(record) == ["follow_up_due"]


def lift(record: Record) -> None:
    suspension = availability(record)["reasons"][0]["about"]
    lifting = {"id": str(uuid4()), "reason": "Looked at it."}
    assert record.as_role(Role.QUALITY).post(f"/v1/suspensions/{suspension}/liftings", lifting).status_code == 201


def test_a_phone_whose_clock_runs_ahead_moves_neither_the_release_nor_what_is_due(record: Record) -> None:
    job = record.open_job()
    record.rebuild(job)
    ahead = datetime.now(UTC) + timedelta(hours=23)
    record.clock = ahead - timedelta(minutes=3)
    lead = record.as_role(Role.LEAD)
    answer = lead.post("/v1/releases", record.release_token(job), JOSE, **{"Device-Time": ahead.isoformat()})
    assert answer.status_code == 201, answer.content
    released_at = datetime.fromisoformat(answer.json()["released_at"])
    assert released_at <= datetime.now(UTC) + timedelta(minutes=5)
    assert datetime.fromisoformat(answer.json()["follow_up_due_at"]) == released_at + timedelta(days=10)


def publish(record: Record, revision: int, text: str) -> None:
    with transaction.atomic():
        record.enter()
        text = text.replace("revision: 4", f"revision: {revision}", 1)
        publish_procedure(grant=record.grant(), text=text, now=datetime.now(UTC))


def opened(record: Record, **more: Any) -> Any:
    return record.as_role(Role.DISPATCH).post("/v1/jobs", record.job_request(uuid4(), **more))


def test_a_follow_up_is_opened_under_a_revision_that_has_one(released: Record) -> None:
    text = procedure_text("PR-11")
    without = text[: text.index("follow_up:")] + text[text.index("\nsteps:") :]
    publish(released, 7, without.replace("2026-01-15", "2026-02-15", 1))
    refused = opened(released, purpose="follow_up")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/revision")
    assert opened(released, purpose="follow_up", revision=4).status_code == 201


def test_no_job_is_opened_under_a_revision_that_is_not_in_force_yet(record: Record) -> None:
    publish(record, 7, procedure_text("PR-11").replace("2026-01-15", "2099-01-15", 1))
    refused = opened(record, revision=7)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/procedure")


def test_a_revoked_release_is_not_followed_up(released: Record) -> None:
    release = released.as_role(Role.DISPATCH).get("/v1/releases").json()["items"][0]["id"]
    body = {"id": str(uuid4()), "reason": "Not as signed."}
    assert released.as_role(Role.QUALITY).post(f"/v1/releases/{release}/revocations", body).status_code == 201
    refused = opened(released, purpose="follow_up")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/purpose")
