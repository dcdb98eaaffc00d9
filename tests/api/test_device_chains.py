"""Leads see in one place: gaps, forks, replays, and what a lost phone may still hold."""

import uuid
from datetime import UTC, datetime
from typing import Any

from django.db import transaction

from jobs.demo.phone import Phone
from shops.domain.access import Role
from tests.acts import PR_11, Act
from tests.record import JOSE, Caller, Record, enrolment_code


def chains(record: Record, query: str = "in_trouble=true", role: Role = Role.LEAD) -> dict[str, Any]:
    """By initials."""
    answer = record.as_role(role).get(f"/v1/device_chains?{query}")
    assert answer.status_code == 200, answer.content
    return {one["initials"]: one for one in answer.json()["items"]}


def revoke(record: Record, who: str) -> None:
    body = {"id": str(uuid.uuid4()), "revoked_from": datetime.now(UTC).isoformat(), "reason": "lost"}
    answer = record.as_role(Role.LEAD).post(f"/v1/device_keys/{record.phones[who].key}/revocations", body)
    assert answer.status_code == 201, answer.content


def second_phone(record: Record, who: str) -> str:
    """The token of a further phone of a person, enrolled over HTTP."""
    phone, name = Phone.with_ed25519(who), f"{who}'s second phone"
    with transaction.atomic():
        record.enter()
        code = enrolment_code(record, who, datetime.now(UTC))
    body = {"id": str(uuid.uuid4()), "code": code, "jwk": dict(phone.jwk.canonical), "device_name": name}
    answer = Caller(None).post("/v1/device_keys", {**body, "proof": phone.proof(code, name)})
    assert answer.status_code == 201, answer.content
    return str(answer.json()["token"])


def claim(record: Record, job: uuid.UUID, who: str) -> None:
    body = {"id": str(uuid.uuid4()), "key": record.phones[who].key}
    assert record.as_role(Role.TECHNICIAN).post(f"/v1/jobs/{job}/claims", body).status_code == 201


def test_phones_in_order_are_no_trouble(record: Record) -> None:
    record.play(record.open_job(), PR_11[:3])
    assert chains(record) == {}
    whole = chains(record, "")
    assert whole["RM"]["last_number"] == whole["RM"]["entries"] == 3
    assert all(one["gaps"] == one["forks"] == one["unsent"] == [] for one in whole.values())


def test_a_gap_is_shown_with_its_numbers_its_time_and_its_jobs(record: Record) -> None:
    job = record.open_job()
    record.log(job, PR_11[0])
    for _ in range(2):
        record.sign(job, PR_11[1])  # never sent
    receipt = record.log(job, PR_11[1])
    (gap,) = chains(record)["RM"]["gaps"]
    assert (gap["first"], gap["last"], gap["jobs"]) == (2, 3, [str(job)])
    assert datetime.fromisoformat(gap["since"]) == datetime.fromisoformat(receipt["received_at"])


def test_a_fork_is_shown_though_its_branches_are_on_two_jobs(record: Record) -> None:
    """The copy of a phone goes on with the same number somewhere else."""
    jobs = record.open_job(), record.open_job("PR-12")
    record.log(jobs[0], PR_11[0])
    phone = record.phones["RM"]
    was = phone.sequence, phone.previous
    record.log(jobs[0], Act("RM", "hold", {"reason": "Crack beside the pivot."}))
    phone.sequence, phone.previous = was
    record.log(jobs[1], Act("RM", "hold", {"reason": "Missing grease fitting."}), "PR-12")
    (fork,) = chains(record)["RM"]["forks"]
    assert fork["number"] == 2
    assert {one["job"] for one in fork["entries"]} == {str(job) for job in jobs}
    assert set(chains(record, f"job={jobs[1]}")) == {"RM"}


def test_a_broken_link_is_shown(record: Record) -> None:
    job = record.open_job()
    record.log(job, PR_11[0])
    record.phones["RM"].previous = "ab" * 32
    record.log(job, PR_11[1])
    assert [one["number"] for one in chains(record, "")["RM"]["broken_links"]] == [2]


def test_a_lost_phone_may_hold_entries_for_the_jobs_that_it_claimed(record: Record) -> None:
    job, other = record.open_job(), record.open_job("PR-12")
    record.play(job, PR_11[:2])
    claim(record, job, "RM")
    claim(record, other, "RM")
    assert chains(record) == {}, "a phone that is out is no trouble yet"
    assert [one["lost"] for one in chains(record, "")["RM"]["unsent"]] == [False, False]
    revoke(record, "RM")
    lost = chains(record)["RM"]
    assert lost["revocation_reason"] == "lost"
    assert [(one["job"], one["after"], one["lost"]) for one in lost["unsent"]] == [
        (str(job), 2, True),
        (str(other), 2, True),
    ]


def test_an_entry_that_somebody_else_sends_again_changes_nothing_and_is_shown(record: Record) -> None:
    job = record.open_job()
    token = record.sign(job, PR_11[0])
    assert record.as_role(Role.TECHNICIAN).post("/v1/entries", token, JOSE).status_code == 201
    thief = Caller(second_phone(record, "SV"))
    for _ in range(2):
        assert thief.post("/v1/entries", token, JOSE).status_code == 200
    shown = chains(record)["RM"]
    (replay,) = shown["replays"]
    assert (replay["job"], replay["sent_by"], shown["entries"]) == (str(job), "SV's second phone", 1)


def test_a_phone_that_sends_its_own_entry_again_is_no_replay(record: Record) -> None:
    job, own = record.open_job(), Caller(second_phone(record, "RM"))
    token = record.sign(job, PR_11[0])
    assert [own.post("/v1/entries", token, JOSE).status_code for _ in range(2)] == [201, 200]
    assert chains(record) == {}


def test_a_replay_in_a_batch_is_shown_too_and_new_entries_beside_it_are_recorded(record: Record) -> None:
    job, thief = record.open_job(), Caller(second_phone(record, "SV"))
    first, second = (record.sign(job, act).decode() for act in PR_11[:2])
    assert record.as_role(Role.TECHNICIAN).post("/v1/entries", first.encode(), JOSE).status_code == 201
    answer = thief.post("/v1/entry_batches", {"entries": [first, second]})
    assert [one["status"] for one in answer.json()["results"]] == [200, 201]
    assert len(chains(record)["RM"]["replays"]) == 1


def test_a_technician_claims_a_job_for_his_own_phone_and_not_for_somebody_elses(record: Record) -> None:
    job, own = record.open_job(), Caller(second_phone(record, "RM"))
    for who, status in (("OK", 403), ("RM", 201)):
        body = {"id": str(uuid.uuid4()), "key": record.phones[who].key}
        assert own.post(f"/v1/jobs/{job}/claims", body).status_code == status
