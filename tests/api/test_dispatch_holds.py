"""Holds on units over HTTP: who may place them, who may clear them, and that the unit stays until then."""

from uuid import uuid4

import pytest

from shops.domain.access import Role
from tests.api.problems import pointers, refused, without_request_id
from tests.record import build_record


def hold(record, role=Role.LEAD, unit=None, **body):
    full = {"id": str(uuid4()), "kind": "order", "reason": "Wait for the carrier's word.", **body}
    return record.as_role(role).post(f"/v1/units/{unit or record.units['PR-11']}/holds", full)


def clear(record, name, role=Role.LEAD, **body):
    full = {"id": str(uuid4()), "reason": "The carrier has agreed.", **body}
    return record.as_role(role).post(f"/v1/unit_holds/{name}/clearings", full)


def availability(record):
    return record.as_role(Role.DISPATCH).get(f"/v1/units/{record.units['PR-11']}/availability").json()


def codes(record):
    return [reason["code"] for reason in availability(record)["reasons"]]


def test_a_held_unit_is_not_available_until_the_hold_is_cleared(record):
    before = availability(record)["availability_version"]
    made = hold(record)
    assert made.status_code == 201
    assert (made.json()["may_clear"], made.json()["clearing"]) == ("lead", None)
    assert "unit_held" in codes(record)
    cleared = clear(record, made.json()["id"])
    assert (cleared.status_code, cleared.json()["clearing"]["reason"]) == (201, "The carrier has agreed.")
    assert "unit_held" not in codes(record)
    assert availability(record)["availability_version"] == before + 2
    listed = record.as_role(Role.AUDITOR).get(f"/v1/units/{record.units['PR-11']}/holds").json()
    assert listed == {"items": [cleared.json()], "next": None}
    assert record.as_role(Role.AUDITOR).get(f"/v1/unit_holds/{made.json()['id']}").json() == cleared.json()


@pytest.mark.parametrize(
    ("placed_by", "body", "may_clear"),
    [
        (Role.LEAD, {"kind": "order"}, "lead"),
        (Role.LEAD, {"kind": "order", "may_clear": "quality"}, "quality"),
        (Role.LEAD, {"kind": "legal_hold"}, "quality"),
        (Role.QUALITY, {"kind": "order"}, "quality"),
        (Role.QUALITY, {"kind": "legal_hold", "may_clear": "quality"}, "quality"),
    ],
)
def test_a_hold_is_cleared_by_whom_it_names(record, placed_by, body, may_clear):
    made = hold(record, placed_by, **body).json()
    assert made["may_clear"] == may_clear
    if may_clear == "quality":
        refused(clear(record, made["id"], Role.LEAD), 403, "not-permitted")
        assert "unit_held" in codes(record)
    assert clear(record, made["id"], Role.QUALITY).status_code == 201


@pytest.mark.parametrize(("placed_by", "kind"), [(Role.LEAD, "legal_hold"), (Role.QUALITY, "order")])
def test_a_hold_that_is_qualitys_to_clear_cannot_be_left_to_a_lead(record, placed_by, kind):
    answer = hold(record, placed_by, kind=kind, may_clear="lead")
    assert pointers(refused(answer, 400, "bad-input")) == ["/may_clear"]
    assert "unit_held" not in codes(record)


def test_a_hold_and_its_clearing_are_made_once(record):
    name, clearing = str(uuid4()), str(uuid4())
    first = hold(record, id=name)
    version = availability(record)["availability_version"]
    again = hold(record, id=name)
    assert (again.status_code, again.json()) == (200, first.json())
    assert availability(record)["availability_version"] == version
    refused(hold(record, id=name, reason="Another one."), 409, "already-exists")
    cleared = clear(record, name, id=clearing)
    assert (clear(record, name, id=clearing).status_code, cleared.status_code) == (200, 201)
    refused(clear(record, name), 409, "already-exists")


@pytest.mark.parametrize("role", [role for role in Role if role not in {Role.LEAD, Role.QUALITY}])
def test_only_leads_and_quality_hold_and_clear(standing, role):
    refused(hold(standing, role), 403, "not-permitted")
    refused(clear(standing, uuid4(), role), 403, "not-permitted")


def test_a_foreign_unit_and_a_foreign_hold_look_like_unknown_ones(record):
    stranger = build_record(procedures=())
    name = hold(record).json()["id"]
    pairs = [
        (hold(stranger, unit=record.units["PR-11"]), hold(stranger, unit=uuid4())),
        (clear(stranger, name), clear(stranger, uuid4())),
        *(
            (stranger.as_role(Role.LEAD).get(own), stranger.as_role(Role.LEAD).get(unknown))
            for own, unknown in (
                (f"/v1/unit_holds/{name}", f"/v1/unit_holds/{uuid4()}"),
                (f"/v1/units/{record.units['PR-11']}/holds", f"/v1/units/{uuid4()}/holds"),
            )
        ),
    ]
    for foreign, unknown in pairs:
        refused(foreign, 404, "not-found")
        assert without_request_id(foreign) == without_request_id(unknown)
    assert "unit_held" in codes(record)


def test_a_hold_of_an_unknown_kind_is_refused(standing):
    assert pointers(refused(hold(standing, kind="because"), 400, "bad-input")) == ["/kind"]
