"""A recall and the work that it hits, at once: whichever comes first, nothing with a recalled kit goes out."""

from typing import Any
from uuid import uuid4

import pytest

from shops.domain.access import Role
from tests.acts import SCRIPTS
from tests.api.test_kits import receive
from tests.record import JOSE, KITS, Record
from tests.services.races import race

ROUNDS = range(3)
ISSUE = next(at for at, act in enumerate(SCRIPTS["PR-11"]) if act.step == "issue-kit")


def proposed(record: Record) -> str:
    """A recall of the kit of PR-11, proposed by quality."""
    body = {"id": str(uuid4()), "serials": [KITS["PR-11"]], "reason": "Soft yoke springs."}
    answer = record.as_role(Role.QUALITY).post("/v1/recalls", body)
    assert answer.status_code == 201, answer.content
    return str(body["id"])


def publish(record: Record, recall: str) -> Any:
    body = {"id": str(uuid4()), "count": 1}
    return record.as_role(Role.LEAD).post(f"/v1/recalls/{recall}/publications", body)


def sweep(record: Record, recall: str) -> dict[str, Any]:
    found: dict[str, Any] = record.as_role(Role.QUALITY).get(f"/v1/recalls/{recall}").json()["sweep"]
    return {state: kits for state, kits in found.items() if kits}


@pytest.mark.parametrize("_round", ROUNDS)
def test_a_release_that_races_with_a_recall_is_refused_or_suspended(record: Record, _round: int) -> None:
    job = record.open_job()
    record.rebuild(job)
    recall, token = proposed(record), record.release_token(job)
    released, published = race(
        lambda: record.as_role(Role.LEAD).post("/v1/releases", token, JOSE), lambda: publish(record, recall)
    )
    assert published.status_code == 201, published.content
    found = sweep(record, recall)
    if released.status_code == 201:
        assert list(found) == ["fitted"]
        assert found["fitted"][0]["suspension"]
    else:
        assert (released.status_code, list(found)) == (409, ["in_work"])
    unit = record.units["PR-11"]
    state = record.as_role(Role.DISPATCH).get(f"/v1/units/{unit}/availability").json()["state"]
    assert state == "not_available"


@pytest.mark.parametrize("_round", ROUNDS)
def test_a_kit_that_is_issued_while_it_is_recalled_holds_the_job(record: Record, _round: int) -> None:
    job = record.open_job()
    record.play(job, SCRIPTS["PR-11"][:ISSUE])
    recall, token = proposed(record), record.sign(job, SCRIPTS["PR-11"][ISSUE])
    issued, published = race(
        lambda: record.as_role(Role.TECHNICIAN).post("/v1/entries", token, JOSE), lambda: publish(record, recall)
    )
    assert (issued.status_code, published.status_code) == (201, 201), (issued.content, published.content)
    record.play(job, SCRIPTS["PR-11"][ISSUE + 1 :])
    refused = record.as_role(Role.LEAD).post("/v1/releases", record.release_token(job), JOSE)
    assert refused.status_code == 409
    assert "hold_open" in {blocker["code"] for blocker in refused.json()["blockers"]}


def test_two_publications_at_once_sweep_once(record: Record) -> None:
    receive(record, "K-T2-0077")
    recall = proposed(record)
    answers = race(*(lambda: publish(record, recall) for _ in range(2)))
    assert sorted(answer.status_code for answer in answers) == [201, 409]
    kit = record.as_role(Role.LEAD).get(f"/v1/kits?serial={KITS['PR-11']}").json()["items"][0]
    moves = record.as_role(Role.LEAD).get(f"/v1/kits/{kit['id']}").json()["movements"]
    assert [move["kind"] for move in moves] == ["quarantined"]
