"""Facts that are taken back from an earlier time take the work that rests on them, and the releases, with them."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.services.judge_again import judge_again
from jobs.services.report_bad_calibrations import report_bad_calibrations
from shops.domain.access import Role
from tests.acts import PR_11, Act, jaw_gap
from tests.record import JOSE, Record, add_instrument
from tests.services.test_follow_up import availability, codes, lift, retorque

LONG_AGO = timedelta(days=30)


@pytest.fixture
def released(record: Record) -> Record:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    return record


def look_again(record: Record) -> None:
    assert judge_again(company=record.company, now=datetime.now(UTC)) is False
    record.enter()


def withdraw(record: Record, who: str) -> None:
    admin = record.as_role(Role.ADMINISTRATOR)
    for grant in admin.get(f"/v1/technicians/{record.people[who]}/qualifications").json()["items"]:
        taken(admin, f"/v1/qualifications/{grant['id']}/withdrawals", "withdrawn_from")


def revoke(record: Record, who: str) -> None:
    path = f"/v1/device_keys/{record.phones[who].key}/revocations"
    taken(record.as_role(Role.ADMINISTRATOR), path, "revoked_from")


def take_away(record: Record, code: str) -> None:
    admin = record.as_role(Role.ADMINISTRATOR)
    found = next(one for one in admin.get("/v1/instruments?limit=200").json()["items"] if one["code"] == code)
    taken(admin, f"/v1/instruments/{found['id']}/withdrawals", "withdrawn_at")


def check(record: Record, code: str, result: str, at: datetime, off: str | None = None) -> None:
    """A calibration that comes in now; `off` is what the gauge said of 0.200 in."""
    instruments = record.as_role(Role.INSTRUMENTS)
    found = next(one for one in instruments.get("/v1/instruments?limit=200").json()["items"] if one["code"] == code)
    left = [{"reference": "0.200", "indicated": "0.200"}] if result == "adjusted" else []
    body = {
        "id": str(uuid4()),
        "performed_at": at.isoformat(),
        "due_at": (at + timedelta(days=365)).isoformat(),
        "result": result,
        "as_found": [{"reference": "0.200", "indicated": off}] if off else [],
        "as_left": left,
        "certificate": "WI-2026-0414",
    }
    answer = instruments.post(f"/v1/instruments/{found['id']}/calibrations", body)
    assert answer.status_code == 201, answer.content


def fail_check(record: Record, code: str) -> None:
    check(record, code, "failed", datetime.now(UTC) - LONG_AGO)


def taken(admin: Any, path: str, since: str) -> None:
    body = {"id": str(uuid4()), since: (datetime.now(UTC) - LONG_AGO).isoformat(), "reason": "It was never right."}
    answer = admin.post(path, body)
    assert answer.status_code == 201, answer.content


@pytest.mark.parametrize(
    ("take", "what"),
    [(withdraw, "OK"), (revoke, "OK"), (take_away, "TK-03"), (fail_check, "TK-03"), (fail_check, "FG-11")],
    ids=["test", "phone", "kingpin", "kingpin that failed its check", "feelers that failed theirs"],
)
def test_what_is_taken_back_from_before_the_work_suspends_the_release(released: Record, take: Any, what: str) -> None:
    assert codes(released) == ["follow_up_due"]
    take(released, what)
    look_again(released)
    assert codes(released) == ["release_suspended"]
    lift(released)
    take_away(released, "FG-11")  # more facts, which the release does not stand or fall by any more
    look_again(released)
    assert codes(released) == ["follow_up_due"]


def test_an_entry_that_comes_first_suspends_the_release_as_well(released: Record) -> None:
    withdraw(released, "OK")
    job = released.as_role(Role.LEAD).get("/v1/jobs").json()["items"][0]["id"]
    released.log(UUID(job), Act("RM", "pause", {"state_note": "Nothing done."}))
    assert codes(released) == ["release_suspended"]


def test_what_is_taken_back_takes_a_follow_up_with_it(released: Record) -> None:
    released.clock += timedelta(minutes=1)
    between = released.clock
    follow_up = released.open_job(purpose="follow_up")
    released.log(follow_up, retorque("12"))
    assert availability(released)["state"] == "available"
    body = {"id": str(uuid4()), "revoked_from": between.isoformat(), "reason": "Lost in the yard."}
    path = f"/v1/device_keys/{released.phones['RM'].key}/revocations"
    assert released.as_role(Role.ADMINISTRATOR).post(path, body).status_code == 201
    look_again(released)
    assert codes(released) == ["release_suspended"]


def test_a_phone_that_is_lost_after_the_work_changes_nothing(released: Record) -> None:
    body = {"id": str(uuid4()), "revoked_from": datetime.now(UTC).isoformat(), "reason": "Lost in the yard."}
    path = f"/v1/device_keys/{released.phones['OK'].key}/revocations"
    assert released.as_role(Role.ADMINISTRATOR).post(path, body).status_code == 201
    look_again(released)
    assert codes(released) == ["follow_up_due"]


def test_a_casting_whose_condemnation_was_in_doubt_for_a_while_is_condemned_once(record: Record) -> None:
    job = record.open_job()
    first = record.log(job, Act("RM", "condemn", {"reason": "A crack from the bore."}))
    decided = {"hold": first["entry"], "reason": "It was a scratch."}
    twin = record.sign(job, Act("JD", "pause", {"state_note": "Lunch."}))
    record.phones["JD"].sequence -= 1  # the phone is set back, and signs another entry of the same number
    clear = record.sign(job, Act("JD", "clear", decided))
    record.log(job, Act("OK", "condemn", {"reason": "I see it too.", "concurs_with": first["entry"]}))
    phone = record.as_role(Role.TECHNICIAN)
    assert phone.post("/v1/entries", clear, JOSE).json()["credit"]
    assert phone.post("/v1/entries", twin, JOSE).status_code == 201
    seen = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}").json()
    assert seen["state"] == "condemned"


def test_work_after_a_release_that_was_let_stand_though_it_lost_its_credit_suspends_it_anew(record: Record) -> None:
    job = record.open_job()
    kept = record.sign(job, Act("RM", "hold", {"reason": "A crack is suspected."}))
    record.phones["RM"].sequence -= 1  # the phone that is to be late is a second one: its number is not missed
    record.rebuild(job)
    record.release(job)
    assert record.as_role(Role.TECHNICIAN).post("/v1/entries", kept, JOSE).status_code == 201
    assert codes(record) == ["release_suspended"]
    lift(record)
    assert codes(record) == ["follow_up_due"]
    record.log(job, Act("SV", "rework", {"step": "adjust", "reason": "Felt loose."}))
    assert codes(record) == ["release_suspended"]


def test_a_release_that_is_dated_before_work_it_has_seen_is_refused(record: Record) -> None:
    job = record.open_job()
    record.rebuild(job)
    record.clock += timedelta(minutes=20)
    adjusted = next(place for place, act in enumerate(PR_11) if act.step == "adjust")
    again = Act("SV", "rework", {**PR_11[adjusted].body, "reason": "Felt loose."})
    record.play(job, [again, *PR_11[adjusted + 1 :]])
    worked, record.clock = record.clock, record.clock - timedelta(minutes=30)
    answer = record.as_role(Role.LEAD).post("/v1/releases", record.release_token(job), JOSE)
    assert answer.status_code == 409, answer.content
    assert [one["code"] for one in answer.json()["blockers"]] == ["release_too_early"]
    record.clock = worked
    record.phones["JD"].sequence -= 1
    record.release(job)


def test_a_phone_that_proves_lost_suspends_the_release_also_where_later_work_had_undone_what_it_signed(
    released: Record,
) -> None:
    job = UUID(released.as_role(Role.LEAD).get("/v1/jobs").json()["items"][0]["id"])
    released.log(job, Act("SV", "rework", {"step": "lift-off", "reason": "Base cracked."}))
    assert codes(released) == ["release_suspended"]
    lift(released)
    revoke(released, "OK")
    look_again(released)
    assert codes(released) == ["release_suspended"]


def test_a_reading_that_proves_nothing_after_a_release_that_was_let_stand_suspends_it_anew(released: Record) -> None:
    """The release has lost its credit, so what comes after it is judged as if it had not been there."""
    take_away(released, "TK-03")
    look_again(released)
    lift(released)
    assert codes(released) == ["follow_up_due"]
    job = UUID(released.as_role(Role.LEAD).get("/v1/jobs").json()["items"][0]["id"])
    near = released.log(job, jaw_gap(".187", ".187", ".187", reason="Felt tight."))
    assert "conditional" in {finding["code"] for finding in near["findings"]}
    assert codes(released) == ["release_suspended"]


def test_a_doubted_reading_that_governs_again_because_a_better_one_is_lost_suspends_the_release(record: Record) -> None:
    with transaction.atomic():
        record.enter()
        add_instrument(record, "FG-12", like="FG-11")
    job, gap = record.open_job(), jaw_gap(".218", ".221", ".219")
    (typed,) = gap.body["readings"]
    better = Act("RM", "reading", {**gap.body, "readings": [{**typed, "instrument": "FG-12"}], "reason": "A burr."})
    at = 1 + PR_11.index(next(act for act in PR_11 if act.step == "measure-lock"))
    record.play(job, [*PR_11[:at], better, *PR_11[at:]])
    record.release(job)
    check(record, "FG-11", "adjusted", datetime.now(UTC), off="0.250")
    assert report_bad_calibrations(company=record.company, now=datetime.now(UTC))
    assert codes(record) == ["follow_up_due"]
    take_away(record, "FG-12")
    look_again(record)
    assert codes(record) == ["release_suspended"]
    assert "FG-11 was found bad later" in availability(record)["reasons"][0]["what"]


def test_a_decision_about_a_reading_that_was_amended_falls_with_the_gauge_of_the_reading(record: Record) -> None:
    """The reading has no credit of its own to lose any more; the clearing of its hold has."""
    with transaction.atomic():
        record.enter()
        add_instrument(record, "FG-12", like="FG-11")
    job, near = record.open_job(), jaw_gap(".187", ".187", ".187")
    (typed,) = near.body["readings"]
    record.play(job, PR_11[: PR_11.index(next(act for act in PR_11 if act.step == "measure-lock"))])
    first = record.log(job, Act("RM", "reading", {**near.body, "readings": [{**typed, "instrument": "FG-12"}]}))
    cleared = record.log(job, Act("JD", "clear", {"hold": first["entry"], "reason": "Good enough."}))
    content = {"kind": "reading", **jaw_gap(".218", ".221", ".219").body}
    record.log(job, Act("RM", "amendment", {"amends": first["entry"], "reason": "Misread.", "content": content}))
    assert cleared["credit"]
    take_away(record, "FG-12")
    look_again(record)
    entries = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/entries?limit=200").json()["items"]
    assert not next(one for one in entries if one["entry"] == cleared["entry"])["credit"]
