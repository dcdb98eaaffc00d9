"""A token of some shops or carriers reaches those only; the rest looks as if it were not there."""

import pytest

from tests.api.problems import pointers, refused
from tests.world import World, new_uuid

pytestmark = pytest.mark.django_db


def test_a_shops_token_sees_that_shop_its_people_and_instruments(world: World) -> None:
    caller = world.caller("auditor", shops=("A",))
    assert [shop["code"] for shop in caller.get("shops").json()["items"]] == ["A"]
    people = {person["initials"] for person in caller.get("technicians").json()["items"]}
    assert people == {"RM", "OK", "JD", "PI", "ZF", "WI"}
    codes = {gauge["code"] for gauge in caller.get("instruments").json()["items"]}
    assert codes == {"FG-11", "SE-04", "BG-02", "DG-03", "TW-05", "TK-03"}
    lp, fg07 = world.data.person("LP"), world.data.instrument("FG-07")
    for path in (
        f"shops/{world.data.shop('B').id}",
        f"technicians/{lp.id}",
        f"technicians/{lp.id}/qualifications",
        f"qualifications/{lp.grant_id(0)}",
        f"instruments/{fg07.id}",
        f"instruments/{fg07.id}/calibrations",
    ):
        refused(caller.get(path), 404, "not-found")


def test_filters_cannot_widen_a_scope(world: World) -> None:
    caller = world.caller("auditor", shops=("A",), carriers=("Quillfeather Freight",))
    brayfen, tarn = world.data.shop("B"), world.data.carriers[0]
    assert caller.get(f"technicians?shop={brayfen.id}").json()["items"] == []
    assert caller.get(f"instruments?shop={brayfen.id}").json()["items"] == []
    assert caller.get(f"units?carrier={tarn.id}").json()["items"] == []
    assert caller.get(f"couplings?unit={world.data.unit('4107').id}").json()["items"] == []
    assert caller.get("top_plates?casting_serial=CS-41070").json()["items"] == []


def test_a_carriers_token_sees_its_own_units_only(world: World) -> None:
    caller = world.caller("dispatch", carriers=("Quillfeather Freight",))
    assert [item["name"] for item in caller.get("carriers").json()["items"]] == ["Quillfeather Freight"]
    assert [item["number"] for item in caller.get("units").json()["items"]] == ["3356", "4140", "4218"]
    assert len(caller.get("couplings").json()["items"]) == 3
    assert len(caller.get("top_plates").json()["items"]) == 3
    unit = world.data.unit("4107")
    for path in (f"units/{unit.id}", f"couplings/{unit.coupling_id}", f"top_plates/{unit.top_plate_id}"):
        refused(caller.get(path), 404, "not-found")


def test_a_carriers_token_registers_units_for_that_carrier_only(world: World) -> None:
    caller = world.caller("dispatch", carriers=("Quillfeather Freight",))
    tarn, quill = world.data.carriers
    body = {"id": new_uuid(), "carrier": str(tarn.id), "number": "9002", "kind": "tractor"}
    assert pointers(refused(caller.post("units", body), 404, "not-found")) == ["/carrier"]
    assert caller.post("units", {**body, "carrier": str(quill.id)}).status_code == 201
    unit = world.data.unit("4140")
    answer = caller.patch(f"units/{unit.id}", {"carrier": str(tarn.id)}, '"v1"')
    assert pointers(refused(answer, 404, "not-found")) == ["/carrier"]
    refused(caller.patch(f"units/{world.data.unit('4107').id}", {"number": "x"}, '"v1"'), 404, "not-found")


def test_a_shops_lead_changes_only_the_own_people_and_instruments(world: World) -> None:
    lead = world.person("JD")
    lp, pi = world.data.person("LP"), world.data.person("PI")
    refused(lead.patch(f"technicians/{lp.id}", {"display_name": "x"}, '"v1"'), 404, "not-found")
    refused(lead.patch(f"technicians/{pi.id}", {"display_name": "x"}, '"v1"'), 403, "not-permitted")
    rm = world.data.person("RM")
    move = {"shop": str(world.data.shop("B").id)}
    assert pointers(refused(lead.patch(f"technicians/{rm.id}", move, '"v1"'), 404, "not-found")) == ["/shop"]
    refused(lead.patch(f"technicians/{rm.id}", {"shop": None}, '"v1"'), 403, "not-permitted")
    assert lead.patch(f"technicians/{rm.id}", {"display_name": "RM"}, '"v1"').status_code == 200
    grant = {"id": new_uuid(), "scopes": ["weld"], "valid_from": "2026-03-01T06:00:00Z", "evidence": "x"}
    refused(lead.post(f"technicians/{lp.id}/qualifications", grant), 404, "not-found")
    refused(lead.post(f"technicians/{pi.id}/qualifications", grant), 403, "not-permitted")
    gauge = world.data.instrument("FG-11")
    answer = lead.patch(f"instruments/{gauge.id}", move, '"v1"')
    assert pointers(refused(answer, 404, "not-found")) == ["/shop"]


def test_a_narrow_token_registers_nothing_that_is_of_all(world: World) -> None:
    lead = world.caller("lead", shops=("A",), carriers=("Quillfeather Freight",))
    everyone = {"id": new_uuid(), "shop": None, "initials": "XX", "display_name": "x"}
    refused(lead.post("technicians", everyone), 403, "not-permitted")
    refused(lead.post("carriers", {"id": new_uuid(), "name": "x"}), 403, "not-permitted")
    refused(lead.post("top_plates", {"id": new_uuid(), "casting_serial": "x"}), 403, "not-permitted")
    refused(lead.post("couplings", {"id": new_uuid(), "model": "BW-T2"}), 403, "not-permitted")
    coupling = world.data.unit("4140").coupling_id
    refused(lead.patch(f"couplings/{coupling}", {"unit": None}, '"v1"'), 403, "not-permitted")
    other = {"unit": str(world.data.unit("4107").id)}
    answer = lead.patch(f"couplings/{coupling}", other, '"v1"')
    assert pointers(refused(answer, 404, "not-found")) == ["/unit"]
