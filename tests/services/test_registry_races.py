"""Two connections at the same moment: exactly one wins, and the loser is told so."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from datetime import UTC, datetime, timedelta
from functools import partial
from threading import Barrier
from typing import Any

import pytest
from django.db import connection

from jobs.demo.phone import Phone
from tests.world import Caller, World, new_company, new_uuid

RACES = 5
Committed = Callable[[], AbstractContextManager[None]]


@pytest.fixture
def world(committed: Committed) -> World:
    return new_company()


def at_once(*calls: Callable[[], Any]) -> list[Any]:
    """The answers of `calls`, each made on a connection of its own, all let go together."""
    barrier = Barrier(len(calls))

    def run(call: Callable[[], Any]) -> Any:
        try:
            connection.ensure_connection()
            barrier.wait()
            return call()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


def test_two_phones_race_for_one_code_and_one_wins(world: World) -> None:
    for _ in range(RACES):
        asked = {
            "id": new_uuid(),
            "technician": str(world.data.person("RM").id),
            "expires_at": (datetime.now(UTC) + timedelta(hours=1)).isoformat(),
        }
        code = world.administrator.made("enrolment_codes", asked)["code"]
        phones = [Phone.with_ed25519("RM"), Phone.with_p256("RM")]
        before = len(world.administrator.get("device_keys").json()["items"])
        answers = at_once(*(partial(_enrol, phone, code) for phone in phones))
        assert sorted(answer.status_code for answer in answers) == [201, 409]
        loser = next(answer for answer in answers if answer.status_code == 409)
        assert loser.json()["errors"][0]["pointer"] == "/code"
        assert len(world.administrator.get("device_keys").json()["items"]) == before + 1


def _enrol(phone: Phone, code: str) -> Any:
    body = {
        "id": new_uuid(),
        "code": code,
        "jwk": dict(phone.jwk.canonical),
        "proof": phone.proof(code, "RM's phone"),
        "device_name": "RM's phone",
    }
    return Caller().post("device_keys", body)


def test_the_same_body_sent_at_once_makes_one_row_and_one_answer(world: World) -> None:
    for turn in range(RACES):
        body = {"id": new_uuid(), "name": f"Carrier {turn}"}
        answers = at_once(*[partial(world.administrator.post, "carriers", body)] * 2)
        assert sorted(answer.status_code for answer in answers) == [200, 201]
        assert answers[0].content == answers[1].content


def test_two_contents_under_one_id_at_once_and_one_is_refused(world: World) -> None:
    for turn in range(RACES):
        body = {"id": new_uuid(), "name": f"First {turn}"}
        other = {**body, "name": f"Second {turn}"}
        answers = at_once(*(partial(world.administrator.post, "carriers", sent) for sent in (body, other)))
        assert sorted(answer.status_code for answer in answers) == [201, 409]


def test_two_changes_of_one_version_at_once_and_one_is_stale(world: World) -> None:
    tarn = world.data.carriers[0]
    for turn in range(RACES):
        tag = f'"v{turn + 1}"'
        answers = at_once(
            *(
                partial(world.administrator.patch, f"carriers/{tarn.id}", {"name": name}, tag)
                for name in (f"Left {turn}", f"Right {turn}")
            )
        )
        assert sorted(answer.status_code for answer in answers) == [200, 412]


def test_two_people_reach_for_one_instrument_and_one_has_it(world: World) -> None:
    gauge = world.data.instrument("FG-11")
    caller = world.person("RM")
    for _ in range(RACES):
        bodies = [
            {
                "id": new_uuid(),
                "technician": str(world.data.person(initials).id),
                "taken_at": "2026-03-02T14:00:00Z",
            }
            for initials in ("RM", "OK")
        ]
        path = f"instruments/{gauge.id}/check_outs"
        answers = at_once(*(partial(caller.post, path, body) for body in bodies))
        assert sorted(answer.status_code for answer in answers) == [201, 409]
        winner = next(answer for answer in answers if answer.status_code == 201).json()["id"]
        back = {"id": new_uuid(), "brought_at": "2026-03-02T20:00:00Z", "condition": "x"}
        caller.made(f"check_outs/{winner}/check_ins", back)
