"""Another company's ids: every resource answers as to an id that nobody has, byte for byte."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from tests.api.problems import refused, without_request_id
from tests.world import World, new_uuid

pytestmark = pytest.mark.django_db


def _fact(**members: Any) -> dict[str, Any]:
    return {"id": new_uuid(), "reason": "x", **members}


Attempt = tuple[str, str, str, Any]
"""Method, path with a place for the id, the id of this company's row, body."""


def _in_paths(world: World, thumbprint: str, facts: dict[str, str]) -> Iterator[Attempt]:
    yield from _company_paths(world)
    yield from _people_paths(world, thumbprint)
    yield from _unit_paths(world)
    yield from _instrument_paths(world, facts)


def _company_paths(world: World) -> Iterator[Attempt]:
    shop, carrier = str(world.data.shop("A").id), str(world.data.carriers[0].id)
    token = world.administrator.get("me").json()["token_id"]
    yield "get", "shops/{}", shop, None
    yield "patch", "shops/{}", shop, {"name": "x"}
    yield "get", "carriers/{}", carrier, None
    yield "patch", "carriers/{}", carrier, {"name": "x"}
    yield "get", "access_tokens/{}", token, None
    yield "post", "access_tokens/{}/revocations", token, _fact()


def _people_paths(world: World, thumbprint: str) -> Iterator[Attempt]:
    rm = world.data.person("RM")
    person, grant = str(rm.id), str(rm.grant_id(0))
    body = {"id": new_uuid(), "scopes": ["weld"], "valid_from": "2026-03-01T06:00:00Z", "evidence": "x"}
    yield "get", "technicians/{}", person, None
    yield "patch", "technicians/{}", person, {"display_name": "x"}
    yield "get", "technicians/{}/qualifications", person, None
    yield "post", "technicians/{}/qualifications", person, body
    yield "get", "qualifications/{}", grant, None
    yield "post", "qualifications/{}/withdrawals", grant, _fact(withdrawn_from="2026-03-01T06:00:00Z")
    yield "get", "device_keys/{}", thumbprint, None
    yield "post", "device_keys/{}/revocations", thumbprint, _fact(revoked_from="2026-03-01T06:00:00Z")


def _unit_paths(world: World) -> Iterator[Attempt]:
    unit = world.data.unit("4107")
    yield "get", "units/{}", str(unit.id), None
    yield "patch", "units/{}", str(unit.id), {"number": "x"}
    yield "get", "couplings/{}", str(unit.coupling_id), None
    yield "patch", "couplings/{}", str(unit.coupling_id), {"unit": None}
    yield "get", "top_plates/{}", str(unit.top_plate_id), None


def _instrument_paths(world: World, facts: dict[str, str]) -> Iterator[Attempt]:
    gauge = str(world.data.instrument("FG-11").id)
    calibration = {
        "id": new_uuid(),
        "performed_at": "2026-03-01T06:00:00Z",
        "due_at": "2027-03-01T06:00:00Z",
        "result": "in_tolerance",
        "certificate": "x",
    }
    returned = _fact(returned_at="2026-03-02T06:00:00Z")
    yield "get", "instruments/{}", gauge, None
    yield "patch", "instruments/{}", gauge, {"shop": str(world.data.shop("B").id)}
    yield "get", "instruments/{}/calibrations", gauge, None
    yield "post", "instruments/{}/calibrations", gauge, calibration
    yield "get", "instruments/{}/withdrawals", gauge, None
    yield "post", "instruments/{}/withdrawals", gauge, _fact(withdrawn_at="2026-03-01T06:00:00Z")
    yield "post", "instrument_withdrawals/{}/returns", facts["withdrawal"], returned
    yield "get", "instruments/{}/check_outs", gauge, None


def _bench_paths(world: World, facts: dict[str, str]) -> Iterator[Attempt]:
    data = world.data
    taken = {"id": new_uuid(), "technician": str(data.person("RM").id), "taken_at": "2026-03-02T14:00:00Z"}
    back = {"id": new_uuid(), "brought_at": "2026-03-02T20:00:00Z", "condition": "x"}
    yield ("post", "instruments/{}/check_outs", str(data.instrument("FG-11").id), taken)
    yield ("post", "check_outs/{}/check_ins", facts["check_out"], back)


def _facts(world: World) -> dict[str, str]:
    gauge = world.data.instrument("FG-12")
    taken = {"id": new_uuid(), "technician": str(world.data.person("LP").id), "taken_at": "2026-03-02T14:00:00Z"}
    world.person("LP").made(f"instruments/{gauge.id}/check_outs", taken)
    withdrawn = _fact(withdrawn_at="2026-03-01T06:00:00Z")
    world.administrator.made(f"instruments/{gauge.id}/withdrawals", withdrawn)
    return {"check_out": taken["id"], "withdrawal": withdrawn["id"]}


def test_another_companys_id_in_a_path_looks_like_nobodys(world: World, stranger: World) -> None:
    phone, _ = world.phone("RM")
    facts = _facts(world)
    attempts = [(stranger.administrator, *attempt) for attempt in _in_paths(world, phone.key, facts)]
    quality = stranger.caller("quality")
    attempts += [(quality, *attempt) for attempt in _bench_paths(world, facts)]
    for caller, method, path, theirs, body in attempts:
        nobodys = "A" * 43 if path.startswith("device_keys") else new_uuid()
        answers = [
            caller.call(method, path.format(identifier), body, if_match='"v1"') for identifier in (theirs, nobodys)
        ]
        for answer in answers:
            refused(answer, 404, "not-found")
        assert without_request_id(answers[0]) == without_request_id(answers[1]), (method, path)


def test_the_same_attempts_by_the_owner_find_something(world: World) -> None:
    phone, _ = world.phone("RM")
    facts = _facts(world)
    for method, path, own, body in _in_paths(world, phone.key, facts):
        if path.startswith("access_tokens/{}/rev"):
            continue
        answer = world.administrator.call(method, path.format(own), body, if_match='"v1"')
        assert answer.status_code in (200, 201), (method, path, answer.content)


def test_another_companys_id_in_a_body_looks_like_nobodys(world: World, stranger: World) -> None:
    data, caller = world.data, stranger.administrator
    lasts = (datetime.now(UTC) + timedelta(hours=1)).isoformat()
    attempts: list[tuple[str, str, str, dict[str, Any]]] = [
        ("technicians", "shop", str(data.shop("A").id), {"initials": "XX", "display_name": "x"}),
        ("units", "carrier", str(data.carriers[0].id), {"number": "1", "kind": "dolly"}),
        ("couplings", "unit", str(data.unit("4107").id), {"model": "BW-T2"}),
        ("couplings", "top_plate", str(data.unit("4107").top_plate_id), {"model": "BW-T2"}),
        ("enrolment_codes", "technician", str(data.person("RM").id), {"expires_at": lasts}),
        (
            "access_tokens",
            "technician",
            str(data.person("RM").id),
            {"label": "x", "role": "technician", "expires_at": lasts},
        ),
        (
            "instruments",
            "shop",
            str(data.shop("A").id),
            {
                "code": "X",
                "kind": "caliper",
                "unit": "in",
                "range_low": "0",
                "range_high": "1",
                "resolution": "0.001",
                "uncertainty": "0.001",
            },
        ),
    ]
    for path, member, theirs, rest in attempts:
        bodies = [{"id": new_uuid(), member: identifier, **rest} for identifier in (theirs, new_uuid())]
        answers = [caller.post(path, body) for body in bodies]
        for answer in answers:
            assert refused(answer, 404, "not-found")["errors"][0]["pointer"] == f"/{member}"
        assert without_request_id(answers[0]) == without_request_id(answers[1]), path
        ids = [item["id"] for item in caller.get(path).json()["items"]]
        assert not {body["id"] for body in bodies} & set(ids)


def test_lists_show_nothing_of_another_company(world: World, stranger: World) -> None:
    world.phone("RM")
    for path in (
        "shops",
        "carriers",
        "technicians",
        "units",
        "couplings",
        "top_plates",
        "instruments",
        "device_keys",
        "enrolment_codes",
    ):
        assert world.administrator.get(path).json()["items"], path
        assert stranger.administrator.get(path).json() == {"items": [], "next": None}, path
    tokens = stranger.administrator.get("access_tokens").json()["items"]
    assert len(tokens) == 1


def test_a_code_of_one_company_enrols_into_that_company_only(world: World, stranger: World) -> None:
    phone, caller = world.phone("RM")
    assert caller.get("me").json()["company"]["id"] == str(world.id)
    refused(stranger.administrator.get(f"device_keys/{phone.key}"), 404, "not-found")
