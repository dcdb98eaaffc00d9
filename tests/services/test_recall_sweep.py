"""A recall stops every coupling that has the kit by what was signed at the bench, whatever was noted or came in since."""

from shops.domain.access import Role
from tests.acts import PR_11, Act, step
from tests.api.test_kits import kits, move, receive
from tests.record import JOSE, KITS, Record
from tests.services.test_follow_up import codes, lift
from tests.services.test_kit_custody import job_on_another_unit
from tests.services.test_recall_races import proposed, publish, sweep

ISSUE = next(at for at, act in enumerate(PR_11) if act.step == "issue-kit")
OTHER = "K-T2-0077"


def recalled(record: Record) -> dict[str, list[dict[str, object]]]:
    """What the sweep of the kit of PR-11 finds, by state."""
    assert publish(record, proposed(record)).status_code == 201
    return sweep(record, str(record.as_role(Role.LEAD).get("/v1/recalls").json()["items"][0]["id"]))


def test_a_kit_that_two_decided_is_theirs_is_found_where_they_signed_for_it(record: Record) -> None:
    """Parts booked it back and gave it to another job; lead and quality looked, and released the unit with it."""
    job, other = record.open_job(), job_on_another_unit(record)
    issued = record.rebuild(job)[ISSUE]
    kit = kits(record, f"serial={KITS['PR-11']}")[0]["id"]
    assert move(record, kit, "returned").status_code == 201
    assert move(record, kit, "issued", job=str(other)).status_code == 201
    for who in ("JD", "OK"):
        record.log(job, Act(who, "clear", {"hold": issued["entry"], "reason": "It is in the coupling; I saw it."}))
    record.release(job)
    assert list(recalled(record)) == ["fitted"]
    assert codes(record) == ["release_suspended"]


def test_a_kit_that_lost_its_credit_for_a_while_is_found_in_the_coupling(record: Record) -> None:
    """A pause that came in late took the credit, and the resumption that came in later still gave it back."""
    job = record.open_job()
    record.play(job, PR_11[:ISSUE])
    pause = record.sign(job, Act("LP", "pause", {"state_note": "Lunch."}))
    resume = record.sign(job, Act("LP", "resume", {"state_read": True}))
    record.play(job, PR_11[ISSUE:])
    for late in (pause, resume):
        assert record.as_role(Role.TECHNICIAN).post("/v1/entries", late, JOSE).status_code == 201
    record.play(job, PR_11[ISSUE + 1 :])
    record.release(job)
    assert list(recalled(record)) == ["fitted"]
    assert codes(record) == ["release_suspended"]


def test_a_recalled_kit_that_comes_in_after_the_sweep_suspends_the_release(record: Record) -> None:
    """A phone without signal had seen another kit go in; by the time that it syncs, that one is recalled."""
    receive(record, OTHER)
    job = record.open_job()
    record.play(job, PR_11[:ISSUE])
    record.log(job, step("issue-kit", kit={"serial": OTHER}))
    late = record.sign(job, Act("LP", "rework", {**PR_11[ISSUE].body, "reason": "The box was torn."}))
    record.play(job, PR_11[ISSUE + 1 :])
    record.release(job)
    assert list(recalled(record)) == ["stock"]
    assert codes(record) == ["follow_up_due"]
    assert record.as_role(Role.TECHNICIAN).post("/v1/entries", late, JOSE).json()["credit"]
    assert codes(record) == ["release_suspended"]
    lift(record)
    assert codes(record) == ["follow_up_due"]
