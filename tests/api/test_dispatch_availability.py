"""Availability over HTTP: one unit, up to a thousand, and that dispatch has taken note."""

import json
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from jobs.services.open_job import JobRequest, open_job
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from shops.models.shop import Carrier
from shops.models.unit import Coupling, TopPlate, Unit
from tests.api.problems import pointers, refused, without_request_id
from tests.past import released_unit
from tests.record import Caller, build_record, issue_token

NOW = datetime.now(UTC)
DAY = timedelta(days=1)


def ask(record, unit, **headers):
    return record.as_role(Role.DISPATCH).get(f"/v1/units/{unit}/availability", **headers)


def ask_all(record, units, role=Role.DISPATCH):
    return record.as_role(role).post("/v1/availability_queries", {"units": [str(unit) for unit in units]})


def codes(document):
    return [reason["code"] for reason in document["reasons"]]


def test_a_unit_goes_from_no_release_through_work_to_limited(record):
    unit = record.units["PR-11"]
    before = ask(record, unit).json()
    assert (before["state"], codes(before)) == ("not_available", ["no_release"])
    job = record.open_job()
    working = ask(record, unit).json()
    assert (working["state"], codes(working)) == ("not_available", ["job_open"])
    assert working["reasons"][0]["about"] == str(job)
    record.rebuild(job)
    release = record.release(job)
    after = ask(record, unit).json()
    assert (after["state"], codes(after)) == ("limited", ["follow_up_due"])
    assert (after["release"], after["release_version"]) == (release["id"], 1)
    assert after["reasons"][0]["due_at"] == release["follow_up_due_at"]
    versions = [found["availability_version"] for found in (before, working, after)]
    assert versions == sorted(set(versions))


def test_an_unchanged_answer_is_not_sent_again(record):
    unit = record.units["PR-11"]
    first = ask(record, unit)
    again = ask(record, unit, **{"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    record.open_job()
    changed = ask(record, unit, **{"If-None-Match": first["ETag"]})
    assert changed.status_code == 200
    assert changed["ETag"] != first["ETag"]


def test_a_due_time_that_has_passed_counts_in_the_version_without_a_row(record):
    due = released_unit(record, "4112", opened_at=NOW - 9 * DAY, follow_up_due_at=NOW + DAY)
    late = released_unit(record, "4120", opened_at=NOW - 9 * DAY, follow_up_due_at=NOW - DAY)
    with transaction.atomic():
        record.enter()
        stored = {unit.id: unit.availability_version for unit in Unit.objects.all()}
    limited, overdue = ask(record, due.unit).json(), ask(record, late.unit).json()
    assert (limited["state"], limited["availability_version"]) == ("limited", stored[due.unit])
    assert (overdue["state"], codes(overdue)) == ("not_available", ["follow_up_overdue"])
    assert overdue["availability_version"] == stored[late.unit] + 1


def test_units_are_answered_in_their_order_with_unknown_and_foreign_ones_in_place(record):
    stranger = build_record(procedures=())
    with transaction.atomic():
        stranger.enter()
        foreign = _bulk_units(stranger, 1)[0]
    unknown = uuid4()
    own = record.units["PR-11"]
    items = ask_all(record, [foreign, own, unknown, own]).json()["items"]
    assert [item["unit"] for item in items] == [str(foreign), str(own), str(unknown), str(own)]
    assert [item["state"] for item in items] == ["not_found", "not_available", "not_found", "not_available"]
    assert {**items[0], "unit": None} == {**items[2], "unit": None}
    assert items[0].keys() == items[1].keys()


def test_a_foreign_units_availability_is_not_found_with_the_body_of_an_unknown_one(record):
    stranger = build_record(procedures=("PR-11",))
    foreign = refused(ask(record, stranger.units["PR-11"]), 404, "not-found")
    unknown = ask(record, uuid4())
    assert without_request_id(unknown) == {name: foreign[name] for name in foreign if name != "request_id"}


def test_a_token_for_one_carrier_finds_no_unit_of_another(record):
    other = uuid4()
    with transaction.atomic():
        record.enter()
        Carrier.objects.create(id=other, company_id=record.company, name="Quillfeather Freight")
        token = issue_token(record, Role.DISPATCH, TokenScope(carriers=frozenset({other})))
    caller = Caller(token)
    refused(caller.get(f"/v1/units/{record.units['PR-11']}/availability"), 404, "not-found")
    answer = caller.post("/v1/availability_queries", {"units": [str(record.units["PR-11"])]})
    assert [item["state"] for item in answer.json()["items"]] == ["not_found"]
    refused(
        caller.post(
            f"/v1/units/{record.units['PR-11']}/acknowledgements", {"id": str(uuid4()), "availability_version": 0}
        ),
        404,
        "not-found",
    )


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/units"),
        ({"units": []}, "/units"),
        ({"units": "4107"}, "/units"),
        ({"units": ["4107"]}, "/units/0"),
        ({"units": [None]}, "/units/0"),
        ({"units": [str(UUID(int=number)) for number in range(1001)]}, "/units"),
        ({"units": [str(UUID(int=1))], "unit": "x"}, "/unit"),
    ],
)
def test_a_question_that_names_no_units_or_too_many_is_refused(standing, body, pointer):
    answer = standing.as_role(Role.DISPATCH).post("/v1/availability_queries", body)
    assert pointers(refused(answer, 400, "bad-input")) == [pointer]


def _bulk_units(record, count):
    """Units with coupling and casting, quickly; every other one has an open job."""
    names = [uuid4() for _ in range(count)]
    inside = {"company_id": record.company}
    Unit.objects.bulk_create(
        Unit(id=name, carrier_id=record.carrier, number=name.hex, kind="tractor", **inside) for name in names
    )
    TopPlate.objects.bulk_create(TopPlate(id=name, casting_serial=name.hex, **inside) for name in names)
    Coupling.objects.bulk_create(
        Coupling(id=name, model="BW-T2", unit_id=name, top_plate_id=name, **inside) for name in names
    )
    return names


def _queries(record, units):
    with CaptureQueriesContext(connection) as captured:
        answer = ask_all(record, units)
    assert answer.status_code == 200
    return len(captured), answer.json()["items"]


def test_a_thousand_units_cost_as_many_queries_as_ten(record):
    with transaction.atomic():
        record.enter()
        units = _bulk_units(record, 990)
        for unit in units[:40]:
            request = JobRequest(id=uuid4(), shop=record.shop, unit=unit, procedure="PR-11")
            open_job(grant=record.grant(), request=request, now=NOW)
    units += [released_unit(record, f"R{number}", opened_at=NOW - 3 * DAY).unit for number in range(10)]
    few, _ = _queries(record, [*units[:5], *units[-5:]])
    many, items = _queries(record, units)
    # BEGIN, the token, the facts, and the durations of past rebuilds; COMMIT is the driver's.
    assert (few, many) == (4, 4)
    assert len(items) == 1000
    assert sum(item["state"] == "available" for item in items) == 10
    assert sum(codes(item) == ["job_open"] for item in items) == 40


def test_a_rebuild_in_work_is_estimated_from_at_least_five_past_ones(record):
    for number, hours in enumerate((7, 8, 9, 10)):
        released_unit(record, f"P{number}", opened_at=NOW - 5 * DAY, took=timedelta(hours=hours))
    unit = record.units["PR-11"]
    record.open_job()
    assert ask(record, unit).json()["ready_estimate"] is None
    released_unit(record, "P5", opened_at=NOW - 5 * DAY, took=timedelta(hours=30))
    found = ask(record, unit).json()
    opened = datetime.fromisoformat(found["since"])
    estimate = found["ready_estimate"]
    assert estimate["rebuilds"] == 5
    assert datetime.fromisoformat(estimate["likely_at"]) - opened == timedelta(hours=9)
    assert datetime.fromisoformat(estimate["late_at"]) - opened == timedelta(hours=30)


def test_a_unit_that_is_held_in_the_middle_of_its_rebuild_has_no_estimate(record):
    for number in range(5):
        released_unit(record, f"P{number}", opened_at=NOW - 5 * DAY)
    unit = record.units["PR-11"]
    record.open_job()
    assert ask(record, unit).json()["ready_estimate"] is not None
    hold = {"id": str(uuid4()), "kind": "order", "reason": "Wait for the carrier's word."}
    assert record.as_role(Role.LEAD).post(f"/v1/units/{unit}/holds", hold).status_code == 201
    assert ask(record, unit).json()["ready_estimate"] is None


def acknowledge(record, unit, version, identifier=None, role=Role.DISPATCH):
    body = {"id": str(identifier or uuid4()), "availability_version": version}
    return record.as_role(role).post(f"/v1/units/{unit}/acknowledgements", body)


def test_dispatch_acknowledges_the_version_it_has_read_and_that_shows(record):
    unit, identifier = record.units["PR-11"], uuid4()
    version = ask(record, unit).json()["availability_version"]
    made = acknowledge(record, unit, version, identifier)
    assert made.status_code == 201
    again = acknowledge(record, unit, version, identifier)
    assert (again.status_code, again.json()) == (200, made.json())
    assert made.json()["recorded_by"] == "dispatch: dispatch"
    assert ask(record, unit).json()["acknowledged_version"] == version


def test_an_acknowledgement_of_an_older_version_is_refused_with_the_current_one(record):
    unit = record.units["PR-11"]
    version = ask(record, unit).json()["availability_version"]
    record.open_job()
    for stale in (version, version + 5):
        document = refused(acknowledge(record, unit, stale), 409, "availability-moved")
        assert document["availability_version"] == version + 1
    assert ask(record, unit).json()["acknowledged_version"] is None


def test_an_acknowledgement_sent_again_after_the_unit_moved_on_is_answered_as_it_was(record):
    unit, identifier = record.units["PR-11"], uuid4()
    version = ask(record, unit).json()["availability_version"]
    first = acknowledge(record, unit, version, identifier)
    record.open_job()
    again = acknowledge(record, unit, version, identifier)
    assert (again.status_code, again.json()) == (200, first.json())
    refused(acknowledge(record, unit, version + 1, identifier), 409, "already-exists")


def test_a_version_is_acknowledged_once(record):
    unit = record.units["PR-11"]
    version = ask(record, unit).json()["availability_version"]
    acknowledge(record, unit, version)
    refused(acknowledge(record, unit, version), 409, "already-exists")


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.DISPATCH])
def test_only_dispatch_acknowledges(standing, role):
    refused(acknowledge(standing, standing.units["PR-11"], 1, role=role), 403, "not-permitted")


@pytest.mark.parametrize("version", [-1, "one", None, 2**63, 1.5])
def test_an_acknowledgement_names_a_version(standing, version):
    body = {"id": str(uuid4()), "availability_version": version}
    answer = standing.as_role(Role.DISPATCH).post(
        f"/v1/units/{standing.units['PR-11']}/acknowledgements", json.dumps(body)
    )
    assert pointers(refused(answer, 400, "bad-input")) == ["/availability_version"]
