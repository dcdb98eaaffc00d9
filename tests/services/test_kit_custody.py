"""One kit, two stories about it: what was signed, what parts booked, and what comes in late from another job."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from jobs.demo.phone import Phone
from jobs.services.judge_again import judge_again
from shops.domain.access import Role
from tests.acts import PR_11, Act
from tests.api.test_kits import kits, move, receive
from tests.record import Record, add_unit, enrol
from tests.services.test_follow_up import codes

ISSUE = next(at for at, act in enumerate(PR_11) if act.step == "issue-kit")


def the_kit(record: Record) -> str:
    return str(kits(record, "serial=K-T2-0412")[0]["id"])


def blockers(record: Record, job: UUID) -> list[Any]:
    gate = record.as_role(Role.LEAD).get(f"/v1/jobs/{job}/gate").json()
    return [(blocker["code"], blocker["step"]) for blocker in gate["blockers"]]


def job_on_another_unit(record: Record) -> UUID:
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, "4112")
    job = uuid4()
    asked = {"id": str(job), "shop": str(record.shop), "unit": str(unit), "procedure": "PR-11"}
    assert record.as_role(Role.DISPATCH).post("/v1/jobs", asked).status_code == 201
    return job


def test_a_kit_that_parts_book_back_holds_its_job_until_they_issue_it_again(record: Record) -> None:
    job = record.open_job()
    record.rebuild(job)
    assert blockers(record, job) == []
    assert move(record, the_kit(record), "returned").status_code == 201
    assert blockers(record, job) == [("hold_open", "issue-kit")]
    assert move(record, the_kit(record), "issued", job=str(job)).status_code == 201
    assert blockers(record, job) == []


def test_a_kit_that_another_job_has_since_holds_the_first_one(record: Record) -> None:
    job, other = record.open_job(), job_on_another_unit(record)
    record.rebuild(job)
    assert move(record, the_kit(record), "returned").status_code == 201
    assert move(record, the_kit(record), "issued", job=str(other)).status_code == 201
    assert blockers(record, job) == [("hold_open", "issue-kit")]


def test_what_is_fitted_and_released_does_not_go_back_into_circulation(record: Record) -> None:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    for kind in ("returned", "stocked", "issued"):
        assert move(record, the_kit(record), kind).status_code == 409


@pytest.mark.parametrize("kind", ["quarantined", "scrapped"])
def test_a_recall_finds_what_was_signed_to_be_in_a_coupling_whatever_parts_booked(record: Record, kind: str) -> None:
    job = record.open_job()
    record.rebuild(job)
    record.release(job)
    assert move(record, the_kit(record), kind).status_code == 201
    recall = {"id": str(uuid4()), "lot": "LT-26-014", "coupling": "BW-T2", "reason": "Soft springs."}
    assert record.as_role(Role.PARTS).post("/v1/recalls", recall).status_code == 201
    decided = {"id": str(uuid4()), "count": 1}
    answer = record.as_role(Role.QUALITY).post(f"/v1/recalls/{recall['id']}/publications", decided)
    assert answer.status_code == 201, answer.content
    assert codes(record) == ["release_suspended"]


def test_a_late_entry_of_a_job_that_had_the_kit_first_takes_the_other_ones_release_with_it(record: Record) -> None:
    job, other = record.open_job(), job_on_another_unit(record)
    first = [record.sign(other, act).decode() for act in PR_11[: ISSUE + 1]]
    with transaction.atomic():
        record.enter()
        record.phones["RM"] = Phone.with_ed25519("RM")
        enrol(record, "RM", record.phones["RM"])
    record.rebuild(job)
    record.release(job)
    assert codes(record) == ["follow_up_due"]
    sent = record.as_role(Role.TECHNICIAN).post("/v1/entry_batches", {"entries": first}).json()
    assert sent["results"][-1]["entry"]["credit"]
    judge_again(company=record.company, now=datetime.now(UTC))
    record.enter()
    assert codes(record) == ["release_suspended"]


def test_a_kit_is_shown_where_it_went_first_when_that_job_comes_in_later(record: Record) -> None:
    job, other = record.open_job(), job_on_another_unit(record)
    first = [record.sign(other, act).decode() for act in PR_11[: ISSUE + 1]]
    with transaction.atomic():
        record.enter()
        record.phones["RM"] = Phone.with_ed25519("RM")
        enrol(record, "RM", record.phones["RM"])
    record.rebuild(job)
    assert kits(record, "serial=K-T2-0412")[0]["job"] == str(job)
    record.as_role(Role.TECHNICIAN).post("/v1/entry_batches", {"entries": first})
    judge_again(company=record.company, now=datetime.now(UTC))
    record.enter()
    assert kits(record, "serial=K-T2-0412")[0]["job"] == str(other)


def test_a_kit_named_by_mistake_and_taken_back_by_the_record_holds_nothing(record: Record) -> None:
    receive(record, "K-T2-0077")
    job = record.open_job()
    record.play(job, PR_11[:ISSUE])
    wrong = record.log(job, Act("RM", "step", {"step": "issue-kit", "kit": {"serial": "K-T2-0077"}}))
    right = {"kind": "step", "step": "issue-kit", "kit": {"serial": "K-T2-0412"}}
    amended = {"amends": wrong["entry"], "reason": "Read the label of the box beside.", "content": right}
    assert record.log(job, Act("RM", "amendment", amended))["credit"]
    assert kits(record, "serial=K-T2-0077")[0]["state"] == "returned"
    assert ("hold_open", "issue-kit") not in blockers(record, job)
