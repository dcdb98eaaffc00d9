"""Releases over HTTP: listed inside the token's scope, suspended, lifted, revoked; never deleted."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from jobs.models.release import ReleaseSuspension
from shops.domain.access import Role
from shops.domain.token_scope import TokenScope
from shops.models.shop import Carrier, Shop
from tests.api.problems import pointers, refused, without_request_id
from tests.past import rebuilt_again, released_unit
from tests.record import Caller, build_record, issue_token

NOW = datetime.now(UTC)
DAY = timedelta(days=1)
REASON = "The driver reports a knock."


def post(record, role, path, **body):
    return record.as_role(role).post(f"/v1/{path}", {"id": str(uuid4()), "reason": REASON, **body})


def suspend(record, release, role=Role.LEAD, **body):
    return post(record, role, f"releases/{release}/suspensions", **body)


def lift(record, suspension, role=Role.LEAD, **body):
    return post(record, role, f"suspensions/{suspension}/liftings", **body)


def revoke(record, release, role=Role.LEAD, **body):
    return post(record, role, f"releases/{release}/revocations", **body)


def availability(record, unit):
    return record.as_role(Role.DISPATCH).get(f"/v1/units/{unit}/availability").json()


def scoped(record, role=Role.LEAD, **scope):
    with transaction.atomic():
        record.enter()
        return Caller(issue_token(record, role, TokenScope(**scope)))


@pytest.fixture
def past(record):
    return released_unit(record, "4112", opened_at=NOW - 3 * DAY)


def test_a_suspended_release_does_not_count_until_it_is_lifted(record, past):
    free = availability(record, past.unit)
    answer = suspend(record, past.release, code="complaint")
    assert answer.status_code == 201
    suspended = answer.json()
    assert (suspended["state"], suspended["suspensions"][0]["code"]) == ("suspended", "complaint")
    held = availability(record, past.unit)
    assert (free["state"], held["state"]) == ("available", "not_available")
    assert [reason["code"] for reason in held["reasons"]] == ["release_suspended"]
    lifted = lift(record, suspended["suspensions"][0]["id"])
    assert (lifted.status_code, lifted.json()["state"]) == (201, "in_force")
    assert lifted.json()["suspensions"][0]["lifting"]["reason"] == REASON
    after = availability(record, past.unit)
    assert after["state"] == "available"
    assert after["since"] == lifted.json()["suspensions"][0]["lifting"]["lifted_at"]
    versions = [found["availability_version"] for found in (free, held, after)]
    assert versions == sorted(set(versions))


def test_one_of_two_suspensions_that_is_lifted_leaves_the_other(record, past):
    first = suspend(record, past.release).json()["suspensions"][0]["id"]
    suspend(record, past.release, reason="A second one.")
    assert lift(record, first).json()["state"] == "suspended"
    assert availability(record, past.unit)["state"] == "not_available"


def test_a_revoked_release_never_counts_again(record, past):
    answer = revoke(record, past.release)
    assert (answer.status_code, answer.json()["state"]) == (201, "revoked")
    assert answer.json()["revocation"]["reason"] == REASON
    found = availability(record, past.unit)
    assert [reason["code"] for reason in found["reasons"]] == ["release_revoked"]
    refused(revoke(record, past.release), 409, "already-exists")
    refused(suspend(record, past.release), 409, "conflict")
    with transaction.atomic():
        record.enter()
        assert not ReleaseSuspension.objects.filter(release_id=past.release).exists()


@pytest.mark.parametrize("act", [suspend, revoke])
def test_an_order_sent_again_is_answered_the_same_and_raises_nothing(record, past, act):
    identifier = str(uuid4())
    first = act(record, past.release, id=identifier)
    version = availability(record, past.unit)["availability_version"]
    again = act(record, past.release, id=identifier)
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json() == first.json()
    assert availability(record, past.unit)["availability_version"] == version
    other = act(record, past.release, id=identifier, reason="Something else.")
    refused(other, 409, "already-exists")


def test_what_quality_suspended_a_lead_does_not_lift(record, past):
    suspension = suspend(record, past.release, Role.QUALITY).json()["suspensions"][0]["id"]
    refused(lift(record, suspension, Role.LEAD), 403, "not-permitted")
    assert availability(record, past.unit)["state"] == "not_available"
    assert lift(record, suspension, Role.QUALITY).json()["state"] == "in_force"


def test_what_the_record_suspended_a_lead_does_not_lift(record, past):
    name = uuid4()
    with transaction.atomic():
        record.enter()
        ReleaseSuspension.objects.create(
            id=name,
            company_id=record.company,
            release_id=past.release,
            code="undermined",
            reason="An entry came in.",
            suspended_at=NOW,
            recorded_by="the record",
        )
    refused(lift(record, name, Role.LEAD), 403, "not-permitted")
    assert lift(record, name, Role.QUALITY).status_code == 201


def test_quality_lifts_what_a_lead_suspended_and_once_only(record, past):
    suspension = suspend(record, past.release).json()["suspensions"][0]["id"]
    assert lift(record, suspension, Role.QUALITY).status_code == 201
    refused(lift(record, suspension, Role.QUALITY), 409, "already-exists")


@pytest.mark.parametrize("role", [role for role in Role if role not in {Role.LEAD, Role.QUALITY}])
def test_only_leads_and_quality_decide_about_releases(standing, role):
    name = uuid4()
    for answer in (suspend(standing, name, role), lift(standing, name, role), revoke(standing, name, role)):
        refused(answer, 403, "not-permitted")


def test_an_older_release_is_superseded_and_says_nothing_of_the_unit(record, past):
    newer = rebuilt_again(record, past.unit, version=2, opened_at=NOW - DAY)
    suspend(record, past.release)
    answer = record.as_role(Role.AUDITOR).get(f"/v1/releases?unit={past.unit}").json()
    assert [(item["version"], item["state"]) for item in answer["items"]] == [(1, "suspended"), (2, "in_force")]
    found = availability(record, past.unit)
    assert (found["state"], found["release"]) == ("available", str(newer.release))


def test_a_signed_release_is_read_with_its_signer_and_dates(record):
    job = record.open_job()
    record.rebuild(job)
    made = record.release(job)
    read = record.as_role(Role.DISPATCH).get(f"/v1/releases/{made['id']}").json()
    assert {name: read[name] for name in made} == made
    assert (read["released_by"], read["state"], read["suspensions"], read["revocation"]) == ("JD", "in_force", [], None)
    listed = record.as_role(Role.DISPATCH).get(f"/v1/releases?job={job}").json()
    in_a_list = {name: value for name, value in read.items() if name != "next_inspection"}
    assert listed == {"items": [in_a_list], "next": None}


def test_releases_are_paged_each_once_oldest_first_with_a_constant_number_of_queries(record):
    for number in range(3):
        released_unit(record, f"P{number}", opened_at=NOW - number * DAY)
    few = _count(record, "releases?limit=200")
    for number in range(3, 6):
        released_unit(record, f"P{number}", opened_at=NOW - number * DAY)
    assert _count(record, "releases?limit=200") == few
    whole = record.as_role(Role.LEAD).get("/v1/releases").json()["items"]
    paged, path = [], "releases?limit=2"
    while path:
        page = record.as_role(Role.LEAD).get(f"/v1/{path}").json()
        paged += page["items"]
        path = page["next"] and f"releases?limit=2&cursor={page['next']}"
    assert paged == whole
    assert [item["released_at"] for item in paged] == sorted(item["released_at"] for item in whole)
    assert len(paged) == 6


def _count(record, path):
    with CaptureQueriesContext(connection) as captured:
        assert record.as_role(Role.LEAD).get(f"/v1/{path}").status_code == 200
    return len(captured)


def test_a_foreign_release_looks_like_an_unknown_one(record, past):
    stranger = build_record(procedures=())
    for role, path in ((Role.DISPATCH, ""), (Role.LEAD, "/suspensions"), (Role.LEAD, "/revocations")):
        answers = []
        for release in (past.release, uuid4()):
            caller, address = stranger.as_role(role), f"/v1/releases/{release}{path}"
            body = {"id": str(uuid4()), "reason": REASON}
            answer = caller.post(address, body) if path else caller.get(address)
            refused(answer, 404, "not-found")
            answers.append(without_request_id(answer))
        assert answers[0] == answers[1]
    assert stranger.as_role(Role.AUDITOR).get("/v1/releases").json() == {"items": [], "next": None}
    assert availability(record, past.unit)["state"] == "available"


def test_a_foreign_suspension_looks_like_an_unknown_one(record, past):
    stranger = build_record(procedures=())
    suspension = suspend(record, past.release).json()["suspensions"][0]["id"]
    foreign, unknown = lift(stranger, suspension), lift(stranger, uuid4())
    refused(foreign, 404, "not-found")
    assert without_request_id(foreign) == without_request_id(unknown)


def test_shops_carriers_and_dates_of_a_token_narrow_what_it_sees_and_decides(record, past):
    other = uuid4()
    with transaction.atomic():
        record.enter()
        Shop.objects.create(id=other, company_id=record.company, code="B", name="Brayfen", time_zone="America/Chicago")
        Carrier.objects.create(id=other, company_id=record.company, name="Quillfeather Freight")
    suspension = suspend(record, past.release).json()["suspensions"][0]["id"]
    released_at = NOW - 3 * DAY + timedelta(hours=7)
    reaching = [{"shops": frozenset({record.shop})}, {"records_from": released_at}, {"records_to": NOW}]
    for scope in reaching:
        assert len(scoped(record, **scope).get("/v1/releases").json()["items"]) == 1
    outside = [
        {"shops": frozenset({other})},
        {"carriers": frozenset({other})},
        {"records_to": released_at},
        {"records_from": released_at + timedelta(microseconds=1)},
    ]
    for scope in outside:
        caller = scoped(record, **scope)
        assert caller.get("/v1/releases").json()["items"] == []
        refused(caller.get(f"/v1/releases/{past.release}"), 404, "not-found")
        body = {"id": str(uuid4()), "reason": REASON}
        for path in (f"releases/{past.release}/suspensions", f"releases/{past.release}/revocations"):
            refused(caller.post(f"/v1/{path}", body), 404, "not-found")
        refused(caller.post(f"/v1/suspensions/{suspension}/liftings", body), 404, "not-found")


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"reason": ""}, "/reason"),
        ({"reason": None}, "/reason"),
        ({"reason": "x" * 501}, "/reason"),
        ({"id": "1"}, "/id"),
        ({"code": "because"}, "/code"),
        ({"until": "tomorrow"}, "/until"),
    ],
)
def test_an_order_without_a_reason_or_with_unknown_members_is_refused(standing, body, pointer):
    answer = suspend(standing, uuid4(), **body)
    assert pointers(refused(answer, 400, "bad-input")) == [pointer]
