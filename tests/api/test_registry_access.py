"""Access tokens: shown once, never reaching further than their issuer's, ending when they should."""

import re
from datetime import UTC, datetime, timedelta
from time import sleep
from typing import Any

import pytest
from django.db import connection

from tests.api.problems import pointers, refused
from tests.world import Caller, World, new_uuid

pytestmark = pytest.mark.django_db


def in_days(days: float) -> str:
    return (datetime.now(UTC) + timedelta(days=days)).isoformat()


def token_body(**change: Any) -> dict[str, Any]:
    return {"id": new_uuid(), "label": "NU", "role": "auditor", "expires_at": in_days(30), **change}


def test_a_token_is_shown_once_and_works(bare: World) -> None:
    body = token_body()
    first, second = (bare.administrator.post("access_tokens", body) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    text = first.json()["token"]
    assert re.fullmatch(r"rr_[A-Za-z0-9_-]{43}", text)
    assert second.json() == {**first.json(), "token": None}
    assert "token" not in bare.administrator.get(f"access_tokens/{body['id']}").json()
    me = Caller(text).get("me").json()
    assert (me["role"], me["label"], me["token_id"]) == ("auditor", "NU", body["id"])


def test_a_tokens_text_is_nowhere_in_the_data_base(bare: World) -> None:
    text = bare.administrator.made("access_tokens", token_body())["token"]
    with connection.cursor() as cursor:
        cursor.execute("SELECT access_tokens::text, encode(token_hash, 'escape') FROM access_tokens")
        stored = repr(cursor.fetchall())
    assert text not in stored
    assert text.removeprefix("rr_") not in stored


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"expires_at": in_days(401)}, "/expires_at"),
        ({"expires_at": in_days(-1)}, "/expires_at"),
        ({"expires_at": None}, "/expires_at"),
        ({"role": "owner"}, "/role"),
        ({"shops": ["A"]}, "/shops/0"),
        ({"records_from": "2026-03-02T00:00:00Z", "records_to": "2026-03-01T00:00:00Z"}, "/records_to"),
    ],
)
def test_a_token_that_may_not_be_is_refused(bare: World, change: dict[str, Any], pointer: str) -> None:
    problem = refused(bare.administrator.post("access_tokens", token_body(**change)), 400, "bad-input")
    assert pointers(problem) == [pointer]
    assert len(bare.administrator.get("access_tokens").json()["items"]) == 1


def test_a_revoked_token_stops_working_at_once(bare: World) -> None:
    body = token_body()
    caller = Caller(bare.administrator.made("access_tokens", body)["token"])
    assert caller.get("me").status_code == 200
    path = f"access_tokens/{body['id']}/revocations"
    revocation = {"id": new_uuid(), "reason": "NU left"}
    first, second = (bare.administrator.post(path, revocation) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert first.json()["revocation_reason"] == "NU left"
    refused(caller.get("me"), 401, "not-authenticated")


def test_an_expired_token_stops_working(bare: World) -> None:
    body = token_body(expires_at=(datetime.now(UTC) + timedelta(seconds=0.4)).isoformat())
    caller = Caller(bare.administrator.made("access_tokens", body)["token"])
    while datetime.now(UTC) <= datetime.fromisoformat(body["expires_at"]):
        sleep(0.05)
    refused(caller.get("me"), 401, "not-authenticated")


def test_a_lead_issues_technicians_tokens_for_the_own_shops_only(world: World) -> None:
    lead = world.person("JD")
    a, b = world.data.shop("A"), world.data.shop("B")
    mine = token_body(role="technician", shops=[str(a.id)], technician=str(world.data.person("RM").id))
    assert Caller(lead.made("access_tokens", mine)["token"]).get("me").json()["shops"] == [str(a.id)]
    refused(lead.post("access_tokens", token_body(role="auditor", shops=[str(a.id)])), 403, "not-permitted")
    for shops in ([], [str(b.id)], [str(a.id), str(b.id)]):
        problem = refused(lead.post("access_tokens", token_body(role="technician", shops=shops)), 400, "bad-input")
        assert pointers(problem) == ["/shops"]
    others = token_body(role="technician", shops=[str(a.id)], technician=str(world.data.person("LP").id))
    problem = refused(lead.post("access_tokens", others), 404, "not-found")
    assert pointers(problem) == ["/technician"]


def test_a_lead_sees_and_revokes_technicians_tokens_of_the_own_shops_only(world: World) -> None:
    a, b = (str(world.data.shop(code).id) for code in "AB")
    ids = {}
    for name, role, shops in (
        ("own", "technician", [a]),
        ("other", "technician", [b]),
        ("all", "technician", []),
        ("auditor", "auditor", [a]),
    ):
        body = token_body(role=role, shops=shops)
        world.administrator.made("access_tokens", body)
        ids[name] = body["id"]
    lead = world.person("JD")
    assert [item["id"] for item in lead.get("access_tokens").json()["items"]] == [ids["own"]]
    for name in ("other", "all", "auditor"):
        path = f"access_tokens/{ids[name]}/revocations"
        refused(lead.post(path, {"id": new_uuid(), "reason": "x"}), 404, "not-found")
        assert world.administrator.get(f"access_tokens/{ids[name]}").json()["revoked_at"] is None
    own = lead.post(f"access_tokens/{ids['own']}/revocations", {"id": new_uuid(), "reason": "x"})
    assert own.status_code == 201


def test_a_narrow_administrator_cannot_issue_a_wider_token(world: World) -> None:
    a = str(world.data.shop("A").id)
    tarn = str(world.data.carriers[0].id)
    narrow = world.administrator.made(
        "access_tokens",
        token_body(
            role="administrator",
            shops=[a],
            carriers=[tarn],
            records_from="2026-03-01T00:00:00Z",
            records_to="2026-04-01T00:00:00Z",
        ),
    )
    caller = Caller(narrow["token"])
    problem = refused(caller.post("access_tokens", token_body()), 400, "bad-input")
    assert sorted(pointers(problem)) == ["/carriers", "/records_from", "/records_to", "/shops"]
    inside = {
        "shops": [a],
        "carriers": [tarn],
        "records_from": "2026-03-02T00:00:00Z",
        "records_to": "2026-03-31T00:00:00Z",
    }
    assert caller.post("access_tokens", token_body(**inside)).status_code == 201


def test_a_shop_or_carrier_of_nobody_is_not_found(bare: World) -> None:
    for name in ("shops", "carriers"):
        body = token_body(**{name: [new_uuid()]})
        problem = refused(bare.administrator.post("access_tokens", body), 404, "not-found")
        assert pointers(problem) == [f"/{name}"]


@pytest.mark.parametrize("role", ["technician", "quality", "parts", "instruments", "dispatch", "auditor"])
def test_other_roles_see_and_issue_no_tokens(world: World, role: str) -> None:
    caller = world.caller(role)
    refused(caller.get("access_tokens"), 403, "not-permitted")
    refused(caller.post("access_tokens", token_body(role="technician")), 403, "not-permitted")
