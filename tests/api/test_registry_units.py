"""Units by VIN, couplings, top plates."""

from typing import Any

import pytest

from tests.api.problems import pointers, refused
from tests.world import World, new_uuid

pytestmark = pytest.mark.django_db


def unit_body(world: World, **change: Any) -> dict[str, Any]:
    body = {
        "id": new_uuid(),
        "carrier": str(world.data.carriers[0].id),
        "number": "9001",
        "vin": None,
        "kind": "tractor",
    }
    return {**body, **change}


def test_the_worlds_vins_give_no_warning(world: World) -> None:
    items = world.administrator.get("units").json()["items"]
    assert len(items) == 9
    assert all(item["vin_check_digit_ok"] and item["warnings"] == [] for item in items)


def test_a_wrong_check_digit_is_stored_with_a_warning(world: World) -> None:
    body = unit_body(world, vin="ZZZBW1T23NA004107")
    made = world.administrator.post("units", body)
    assert made.status_code == 201
    assert made.json()["vin_check_digit_ok"] is False
    assert [warning["pointer"] for warning in made.json()["warnings"]] == ["/vin"]
    assert world.administrator.get(f"units/{body['id']}").json() == made.json()


@pytest.mark.parametrize("vin", ["ZZZBW1T22NA00410", "ZZZBW1T22NA0041077", "IZZBW1T22NA004107", "OZZBW1T22NA004107"])
def test_what_is_no_vin_is_refused(world: World, vin: str) -> None:
    body = unit_body(world, vin=vin)
    assert pointers(refused(world.administrator.post("units", body), 400, "bad-input")) == ["/vin"]
    refused(world.administrator.get(f"units/{body['id']}"), 404, "not-found")
    known = world.data.unit("4107")
    problem = refused(world.administrator.patch(f"units/{known.id}", {"vin": vin}, '"v1"'), 400, "bad-input")
    assert pointers(problem) == ["/vin"]
    assert world.administrator.get(f"units/{known.id}").json()["vin"] == known.vin


def test_a_vin_in_small_letters_is_the_same_vin(world: World) -> None:
    body = unit_body(world, vin="zzzbw1d46pb000299", kind="dolly")
    made = world.administrator.made("units", body)
    assert made["vin"] == "ZZZBW1D46PB000299"
    assert world.administrator.post("units", {**body, "vin": "ZZZBW1D46PB000299"}).status_code == 200


def test_a_number_or_vin_that_is_taken_names_itself(world: World) -> None:
    known = world.data.unit("4107")
    problem = refused(world.administrator.post("units", unit_body(world, number="4107")), 409, "already-exists")
    assert pointers(problem) == ["/number"]
    problem = refused(world.administrator.post("units", unit_body(world, vin=known.vin)), 409, "already-exists")
    assert pointers(problem) == ["/vin"]
    other = str(world.data.carriers[1].id)
    assert world.administrator.post("units", unit_body(world, number="4107", carrier=other)).status_code == 201


def test_units_are_found_by_vin_number_and_carrier(world: World) -> None:
    def numbers(query: str) -> list[str]:
        return [item["number"] for item in world.administrator.get(f"units?{query}").json()["items"]]

    assert numbers("vin=zzzbw1t22na004107") == ["4107"]
    assert numbers("number=D-218") == ["D-218"]
    assert numbers(f"carrier={world.data.carriers[1].id}") == ["3356", "4140", "4218"]
    assert numbers("number=none") == []


def test_a_unit_goes_to_another_carrier(world: World) -> None:
    unit, quill = world.data.unit("4107"), world.data.carriers[1]
    changed = world.administrator.patch(f"units/{unit.id}", {"carrier": str(quill.id)}, '"v1"')
    assert (changed.json()["carrier"], changed.json()["version"]) == (str(quill.id), 2)
    assert changed.json()["vin"] == unit.vin


def test_a_casting_is_in_one_coupling_only(world: World) -> None:
    first, second = world.data.unit("4107"), world.data.unit("4112")
    body = {"id": new_uuid(), "model": "BW-T2", "unit": None, "top_plate": str(first.top_plate_id)}
    problem = refused(world.administrator.post("couplings", body), 409, "already-exists")
    assert pointers(problem) == ["/top_plate"]
    path = f"couplings/{second.coupling_id}"
    change = {"top_plate": str(first.top_plate_id)}
    assert pointers(refused(world.administrator.patch(path, change, '"v1"'), 409, "already-exists")) == ["/top_plate"]
    world.administrator.patch(f"couplings/{first.coupling_id}", {"top_plate": None}, '"v1"')
    moved = world.administrator.patch(path, change, '"v1"')
    assert (moved.status_code, moved.json()["top_plate"]) == (200, str(first.top_plate_id))
    plate = world.administrator.get(f"top_plates/{first.top_plate_id}").json()
    assert plate["coupling"] == str(second.coupling_id)


def test_a_casting_serial_names_one_top_plate(world: World) -> None:
    body = {"id": new_uuid(), "casting_serial": "CS-70213"}
    problem = refused(world.administrator.post("top_plates", body), 409, "already-exists")
    assert pointers(problem) == ["/casting_serial"]
    found = world.administrator.get("top_plates?casting_serial=CS-70213").json()["items"]
    assert [plate["id"] for plate in found] == [str(world.data.unit("3356").top_plate_id)]


def test_couplings_are_found_by_unit_and_top_plate(world: World) -> None:
    unit = world.data.unit("D-218")
    for query in (f"unit={unit.id}", f"top_plate={unit.top_plate_id}"):
        items = world.administrator.get(f"couplings?{query}").json()["items"]
        assert [item["id"] for item in items] == [str(unit.coupling_id)]


@pytest.mark.parametrize("member", ["unit", "top_plate"])
def test_a_coupling_of_something_unknown_names_it(world: World, member: str) -> None:
    body = {"id": new_uuid(), "model": "BW-T2", member: new_uuid()}
    assert pointers(refused(world.administrator.post("couplings", body), 404, "not-found")) == [f"/{member}"]
    refused(world.administrator.get(f"couplings/{body['id']}"), 404, "not-found")
