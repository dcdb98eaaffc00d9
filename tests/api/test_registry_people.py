"""Technicians and what they were qualified for on a day."""

from typing import Any

import pytest

from tests.api.problems import pointers, refused
from tests.world import World, new_uuid

pytestmark = pytest.mark.django_db


def scopes_on(world: World, initials: str, day: str) -> set[str]:
    person = world.data.person(initials)
    page = world.administrator.get(f"technicians/{person.id}/qualifications?at={day.replace('+', '%2B')}").json()
    return {scope for item in page["items"] for scope in item["scopes"]}


def withdrawal(withdrawn_from: str) -> dict[str, str]:
    return {"id": new_uuid(), "withdrawn_from": withdrawn_from, "reason": "Six months without a weld"}


def test_a_weld_qualification_ends_on_its_day_and_not_before(world: World) -> None:
    assert "weld" in scopes_on(world, "SV", "2026-07-01T04:59:59Z")
    assert "weld" not in scopes_on(world, "SV", "2026-07-01T05:00:00Z")
    assert "weld" not in scopes_on(world, "SV", "2026-02-20T14:59:59Z")
    assert "weld" in scopes_on(world, "SV", "2026-02-20T15:00:00Z")


def test_a_withdrawal_ends_a_grant_from_its_time_on_and_leaves_the_past(world: World) -> None:
    sv = world.data.person("SV")
    grant = sv.grant_id(2)
    answer = world.person("PI").post(f"qualifications/{grant}/withdrawals", withdrawal("2026-05-04T05:00:00Z"))
    assert answer.status_code == 201
    assert answer.json()["withdrawn_from"] == "2026-05-04T05:00:00Z"
    assert answer.json()["withdrawal_reason"] == "Six months without a weld"
    assert "weld" in scopes_on(world, "SV", "2026-05-04T04:59:59Z")
    assert "weld" not in scopes_on(world, "SV", "2026-05-04T05:00:00Z")


def test_of_two_withdrawals_the_earlier_one_counts(world: World) -> None:
    grant = world.data.person("SV").grant_id(2)
    for day in ("2026-06-01T00:00:00Z", "2026-04-01T00:00:00Z"):
        world.administrator.made(f"qualifications/{grant}/withdrawals", withdrawal(day))
    read = world.administrator.get(f"qualifications/{grant}").json()
    assert read["withdrawn_from"] == "2026-04-01T00:00:00Z"


def test_a_withdrawal_sent_twice_is_recorded_once(world: World) -> None:
    grant = world.data.person("SV").grant_id(2)
    body = withdrawal("2026-05-04T05:00:00Z")
    path = f"qualifications/{grant}/withdrawals"
    first, second = (world.administrator.post(path, body) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.content == second.content
    refused(world.administrator.post(path, {**body, "reason": "Another"}), 409, "already-exists")


def test_a_grant_names_who_recorded_it(world: World) -> None:
    rm = world.data.person("RM")
    body = {"id": new_uuid(), "scopes": ["weld", "adjust", "weld"], "valid_from": "2026-03-01T06:00:00Z"}
    made = world.person("JD").made(f"technicians/{rm.id}/qualifications", {**body, "evidence": "Weld test 12"})
    assert made["scopes"] == ["adjust", "weld"]
    assert made["recorded_by"] == "lead: JD"
    assert made["valid_to"] is None
    assert made["technician"] == str(rm.id)


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"scopes": []}, "/scopes"),
        ({"scopes": ["solder"]}, "/scopes/0"),
        ({"scopes": "weld"}, "/scopes"),
        ({"scopes": [["weld"]]}, "/scopes/0"),
        ({"valid_to": "2026-03-01T06:00:00Z"}, "/valid_to"),
        ({"evidence": ""}, "/evidence"),
    ],
)
def test_a_grant_that_says_nothing_sound_is_refused(world: World, change: dict[str, Any], pointer: str) -> None:
    rm = world.data.person("RM")
    path = f"technicians/{rm.id}/qualifications"
    before = world.administrator.get(path).json()
    body = {"id": new_uuid(), "scopes": ["weld"], "valid_from": "2026-03-01T06:00:00Z", "evidence": "Weld test"}
    problem = refused(world.administrator.post(path, {**body, **change}), 400, "bad-input")
    assert pointers(problem) == [pointer]
    assert world.administrator.get(path).json() == before


def test_a_technician_qualifies_nobody(world: World) -> None:
    rm = world.data.person("RM")
    body = {"id": new_uuid(), "scopes": ["weld"], "valid_from": "2026-03-01T06:00:00Z", "evidence": "Me"}
    for role in ("technician", "parts", "instruments", "dispatch", "auditor"):
        refused(world.caller(role).post(f"technicians/{rm.id}/qualifications", body), 403, "not-permitted")


def test_initials_are_unique(world: World) -> None:
    body = {"id": new_uuid(), "shop": None, "initials": "RM", "display_name": "Another RM"}
    problem = refused(world.administrator.post("technicians", body), 409, "already-exists")
    assert pointers(problem) == ["/initials"]


def test_a_technician_moves_to_another_shop(world: World) -> None:
    rm, brayfen = world.data.person("RM"), world.data.shop("B")
    path = f"technicians/{rm.id}"
    changed = world.administrator.patch(path, {"shop": str(brayfen.id)}, '"v1"')
    assert changed.json() == {**world.administrator.get(path).json(), "shop": str(brayfen.id), "version": 2}


def test_a_shop_that_does_not_exist_is_named(world: World) -> None:
    body = {"id": new_uuid(), "shop": new_uuid(), "initials": "XX", "display_name": "XX"}
    problem = refused(world.administrator.post("technicians", body), 404, "not-found")
    assert pointers(problem) == ["/shop"]
    rm = world.data.person("RM")
    problem = refused(world.administrator.patch(f"technicians/{rm.id}", {"shop": new_uuid()}, '"v1"'), 404, "not-found")
    assert pointers(problem) == ["/shop"]
    assert world.administrator.get(f"technicians/{rm.id}").json()["version"] == 1
