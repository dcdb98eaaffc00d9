"""Shops and carriers over HTTP; and with them the manners that every resource shares."""

import pytest

from tests.api.problems import pointers, refused
from tests.world import Caller, World, new_uuid

pytestmark = pytest.mark.django_db


def ashlock() -> dict[str, str]:
    return {
        "id": new_uuid(),
        "code": "A",
        "name": "Ashlock",
        "time_zone": "America/Chicago",
        "length_unit": "in",
    }


def test_a_registered_shop_is_read_back_as_it_was_answered(bare: World) -> None:
    body = ashlock()
    made = bare.administrator.post("shops", body)
    assert made.status_code == 201
    assert made.json() == {**body, "version": 1}
    assert made["ETag"] == '"v1"'
    read = bare.administrator.get(f"shops/{body['id']}")
    assert read.status_code == 200
    assert (read.json(), read["ETag"]) == (made.json(), made["ETag"])


def test_the_same_body_twice_makes_one_shop_and_one_answer(bare: World) -> None:
    body = ashlock()
    first, second = (bare.administrator.post("shops", body) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.content == second.content
    assert len(bare.administrator.get("shops").json()["items"]) == 1


def test_the_same_id_with_other_content_is_a_conflict_and_changes_nothing(bare: World) -> None:
    body = ashlock()
    bare.administrator.made("shops", body)
    problem = refused(bare.administrator.post("shops", {**body, "name": "Brayfen"}), 409, "already-exists")
    assert pointers(problem) == ["/id"]
    assert bare.administrator.get(f"shops/{body['id']}").json()["name"] == "Ashlock"


def test_a_code_that_is_taken_is_a_conflict_and_leaves_no_row(bare: World) -> None:
    bare.administrator.made("shops", ashlock())
    other = {**ashlock(), "name": "Another"}
    problem = refused(bare.administrator.post("shops", other), 409, "already-exists")
    assert pointers(problem) == ["/code"]
    refused(bare.administrator.get(f"shops/{other['id']}"), 404, "not-found")


def test_two_companies_may_use_the_same_id_and_code(bare: World, stranger: World) -> None:
    body = ashlock()
    assert bare.administrator.post("shops", body).status_code == 201
    assert stranger.administrator.post("shops", body).status_code == 201


def test_a_change_needs_the_version_that_it_was_made_from(bare: World) -> None:
    body = ashlock()
    bare.administrator.made("shops", body)
    path = f"shops/{body['id']}"
    refused(bare.administrator.patch(path, {"name": "North"}), 428, "precondition-required")
    refused(bare.administrator.patch(path, {"name": "North"}, '"v2"'), 412, "precondition-failed")
    refused(bare.administrator.patch(path, {"name": "North"}, 'W/"v1"'), 412, "precondition-failed")
    refused(bare.administrator.patch(path, {"name": "North"}, "v1"), 412, "precondition-failed")
    assert bare.administrator.get(path).json()["name"] == "Ashlock"
    changed = bare.administrator.patch(path, {"name": "North"}, '"v1"')
    assert changed.status_code == 200
    assert (changed.json()["name"], changed.json()["version"], changed["ETag"]) == ("North", 2, '"v2"')
    refused(bare.administrator.patch(path, {"name": "South"}, '"v1"'), 412, "precondition-failed")


def test_a_change_may_name_several_versions_or_any(bare: World) -> None:
    body = ashlock()
    bare.administrator.made("shops", body)
    path = f"shops/{body['id']}"
    assert bare.administrator.patch(path, {"name": "North"}, '"v7", "v1"').json()["version"] == 2
    assert bare.administrator.patch(path, {"name": "South"}, "*").json()["version"] == 3


def test_a_change_of_nothing_changes_nothing(bare: World) -> None:
    body = ashlock()
    bare.administrator.made("shops", body)
    same = bare.administrator.patch(f"shops/{body['id']}", {}, '"v1"')
    assert (same.status_code, same.json()["version"]) == (200, 1)


def test_a_shops_code_and_id_cannot_be_changed(bare: World) -> None:
    body = ashlock()
    bare.administrator.made("shops", body)
    problem = refused(
        bare.administrator.patch(f"shops/{body['id']}", {"code": "Z", "id": new_uuid()}, '"v1"'), 400, "bad-input"
    )
    assert sorted(pointers(problem)) == ["/code", "/id"]


def test_a_renamed_carrier_cannot_take_anothers_name(world: World) -> None:
    tarn, quill = world.data.carriers
    problem = refused(
        world.administrator.patch(f"carriers/{tarn.id}", {"name": quill.name}, '"v1"'), 409, "already-exists"
    )
    assert pointers(problem) == ["/name"]
    assert world.administrator.get(f"carriers/{tarn.id}").json() == {
        "id": str(tarn.id),
        "name": tarn.name,
        "version": 1,
    }


def test_a_time_zone_that_does_not_exist_is_refused(bare: World) -> None:
    problem = refused(bare.administrator.post("shops", {**ashlock(), "time_zone": "America/Ashlock"}), 400, "bad-input")
    assert pointers(problem) == ["/time_zone"]


def test_pages_follow_one_another_without_gap_or_overlap(world: World) -> None:
    seen, cursor = [], ""
    for _ in range(5):
        page = world.administrator.get(f"units?limit=2{cursor}").json()
        seen += [unit["number"] for unit in page["items"]]
        if page["next"] is None:
            break
        cursor = f"&cursor={page['next']}"
    assert page["next"] is None
    assert sorted(seen) == sorted(unit.number for unit in world.data.units)
    assert len(seen) == len(set(seen))


def test_a_row_that_appears_between_two_pages_disturbs_neither(world: World) -> None:
    first = world.administrator.get("shops?limit=2").json()
    world.administrator.made("shops", {**ashlock(), "code": "AA"})
    rest = world.administrator.get(f"shops?cursor={first['next']}").json()
    codes = [shop["code"] for shop in first["items"] + rest["items"]]
    assert codes in (["A", "B", "C", "D", "E"], ["A", "B", "AA", "C", "D", "E"])


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("limit=0", "/limit"),
        ("limit=201", "/limit"),
        ("limit=many", "/limit"),
        ("cursor=nonsense", "/cursor"),
        ("cursor=WyJBIiwibm8gdXVpZCJd", "/cursor"),
        ("cursor=WyJBIl0", "/cursor"),
        ("cursor=eyJhIjoxfQ", "/cursor"),
        ("page=2", "/page"),
    ],
)
def test_a_query_that_makes_no_sense_is_refused_with_its_parameter(bare: World, query: str, pointer: str) -> None:
    problem = refused(bare.administrator.get(f"shops?{query}"), 400, "bad-input")
    assert pointers(problem) == [pointer]


def test_only_an_administrator_registers_shops(world: World) -> None:
    for role in ("technician", "lead", "quality", "parts", "instruments", "dispatch", "auditor"):
        caller: Caller = world.caller(role)
        refused(caller.post("shops", {**ashlock(), "code": "Z"}), 403, "not-permitted")
        assert caller.get("shops").status_code == 200


def test_without_a_token_nothing_is_told(bare: World) -> None:
    for caller in (Caller(), Caller("rr_" + "A" * 43), Caller("x" * 500)):
        answer = caller.get("shops")
        refused(answer, 401, "not-authenticated")
        assert answer["WWW-Authenticate"].startswith("Bearer")
