"""Enrolling a phone: one code, one key, proof that the phone holds it."""

from datetime import UTC, datetime, timedelta
from time import sleep
from typing import Any

import orjson
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import connection

from jobs.demo.phone import Phone
from shops.domain.jws import sign_compact
from tests.api.problems import pointers, refused
from tests.world import Caller, World, new_uuid

pytestmark = pytest.mark.django_db
OPEN = Caller()
NAME = "RM's phone"


def code_for(world: World, initials: str = "RM", caller: Caller | None = None) -> str:
    body = {
        "id": new_uuid(),
        "technician": str(world.data.person(initials).id),
        "expires_at": (datetime.now(UTC) + timedelta(hours=1)).isoformat(),
    }
    return str((caller or world.administrator).made("enrolment_codes", body)["code"])


def enrolment(phone: Phone, code: str, **change: Any) -> dict[str, Any]:
    body = {
        "id": new_uuid(),
        "code": code,
        "jwk": dict(phone.jwk.canonical),
        "proof": phone.proof(code, NAME),
        "device_name": NAME,
    }
    return {**body, **change}


def keys(world: World) -> list[dict[str, Any]]:
    items: list[dict[str, Any]] = world.administrator.get("device_keys").json()["items"]
    return items


@pytest.mark.parametrize("make", [Phone.with_ed25519, Phone.with_p256])
def test_a_phone_enrols_and_gets_a_technicians_token_for_its_shop(world: World, make: Any) -> None:
    phone = make("RM")
    answer = OPEN.post("device_keys", enrolment(phone, code_for(world)))
    assert answer.status_code == 201
    document = answer.json()
    assert document["thumbprint"] == phone.key
    assert document["jwk"] == dict(phone.jwk.canonical)
    me = Caller(document["token"]).get("me").json()
    assert me["role"] == "technician"
    assert me["technician"] == str(world.data.person("RM").id)
    assert me["shops"] == [str(world.data.shop("A").id)]
    life = datetime.fromisoformat(me["expires_at"]) - datetime.now(UTC)
    assert timedelta(days=179) < life <= timedelta(days=180)
    stored = {name: value for name, value in document.items() if not name.startswith("token")}
    assert keys(world) == [stored]
    assert world.administrator.get(f"device_keys/{phone.key}").json() == stored


def test_a_code_is_shown_once_and_kept_as_a_hash(world: World) -> None:
    body = {
        "id": new_uuid(),
        "technician": str(world.data.person("RM").id),
        "expires_at": (datetime.now(UTC) + timedelta(hours=72, seconds=-1)).isoformat(),
    }
    first, second = (world.administrator.post("enrolment_codes", body) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert second.json() == {**first.json(), "code": None}
    code = first.json()["code"]
    with connection.cursor() as cursor:
        cursor.execute("SELECT enrolment_codes::text, encode(code_hash, 'escape') FROM enrolment_codes")
        stored = repr(cursor.fetchall())
    assert code not in stored
    assert code.replace("-", "") not in stored


def test_a_code_may_be_typed_in_small_letters_and_without_dashes(world: World) -> None:
    phone = Phone.with_ed25519("RM")
    typed = code_for(world).lower().replace("-", " ")
    assert OPEN.post("device_keys", enrolment(phone, typed)).status_code == 201


def test_a_code_works_once(world: World) -> None:
    code = code_for(world)
    OPEN.made("device_keys", enrolment(Phone.with_ed25519("RM"), code))
    answer = OPEN.post("device_keys", enrolment(Phone.with_ed25519("RM"), code))
    assert pointers(refused(answer, 409, "already-exists")) == ["/code"]
    assert len(keys(world)) == 1
    assert world.administrator.get("enrolment_codes").json()["items"][0]["used_at"] is not None


def test_a_key_is_enrolled_once(world: World) -> None:
    phone = Phone.with_ed25519("RM")
    OPEN.made("device_keys", enrolment(phone, code_for(world)))
    answer = OPEN.post("device_keys", enrolment(phone, code_for(world, "OK")))
    assert pointers(refused(answer, 409, "already-exists")) == ["/jwk"]


def test_a_phone_that_did_not_hear_the_answer_asks_again(world: World) -> None:
    body = enrolment(Phone.with_ed25519("RM"), code_for(world))
    first, second = (OPEN.post("device_keys", body) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    refused(Caller(first.json()["token"]).get("me"), 401, "not-authenticated")
    assert Caller(second.json()["token"]).get("me").status_code == 200
    assert len(keys(world)) == 1


def test_an_unknown_code_is_refused(world: World) -> None:
    answer = OPEN.post("device_keys", enrolment(Phone.with_ed25519("RM"), "2222-2222-2222"))
    assert pointers(refused(answer, 422, "enrolment-refused")) == ["/code"]
    assert keys(world) == []


def test_an_expired_code_is_refused(world: World) -> None:
    expires_at = datetime.now(UTC) + timedelta(seconds=0.4)
    asked = {
        "id": new_uuid(),
        "technician": str(world.data.person("RM").id),
        "expires_at": expires_at.isoformat(),
    }
    code = world.administrator.made("enrolment_codes", asked)["code"]
    while datetime.now(UTC) <= expires_at:
        sleep(0.05)
    answer = OPEN.post("device_keys", enrolment(Phone.with_ed25519("RM"), code))
    assert pointers(refused(answer, 422, "enrolment-refused")) == ["/code"]


@pytest.mark.parametrize("hours", [-1, 0, 72.1])
def test_a_code_lasts_three_days_at_most(world: World, hours: float) -> None:
    body = {
        "id": new_uuid(),
        "technician": str(world.data.person("RM").id),
        "expires_at": (datetime.now(UTC) + timedelta(hours=hours)).isoformat(),
    }
    problem = refused(world.administrator.post("enrolment_codes", body), 400, "bad-input")
    assert pointers(problem) == ["/expires_at"]


def _signed(phone: Phone, payload: dict[str, Any], typ: str = "rebuild-enrolment+jws") -> str:
    return phone.sign(payload, typ).decode()


def test_a_proof_of_another_key_code_name_or_purpose_is_refused(world: World) -> None:
    phone, other, code = Phone.with_ed25519("RM"), Phone.with_ed25519("OK"), code_for(world)
    said = {"code": code, "device_name": NAME}
    under_a_false_name = sign_compact(
        orjson.dumps(said),
        typ="rebuild-enrolment+jws",
        kid=phone.key,
        alg="Ed25519",
        private_key=Ed25519PrivateKey.generate(),
    ).decode()
    proofs = [
        other.proof(code, NAME),
        under_a_false_name,
        phone.proof("2222-2222-2222", NAME),
        phone.proof(code, "OK's phone"),
        _signed(phone, {**said, "more": "x"}),
        _signed(phone, said, "rebuild-entry+jws"),
        "eyJhbGciOiJub25lIn0.e30.",
        "not a token",
    ]
    for proof in proofs:
        answer = OPEN.post("device_keys", enrolment(phone, code, proof=proof))
        assert pointers(refused(answer, 422, "enrolment-refused")) == ["/proof"]
    assert keys(world) == []
    assert OPEN.post("device_keys", enrolment(phone, code)).status_code == 201


@pytest.mark.parametrize(
    "jwk",
    [
        {},
        {"kty": "oct", "k": "c2VjcmV0"},
        {"kty": "RSA", "n": "AQAB", "e": "AQAB"},
        {"kty": "OKP", "crv": "Ed25519", "x": "A" * 43},
        {"kty": "OKP", "crv": "Ed25519", "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo", "d": "nWGxne_9Wm"},
        {"kty": "EC", "crv": "P-256", "x": "A" * 43, "y": "A" * 43},
    ],
)
def test_a_key_that_is_none_is_refused(world: World, jwk: dict[str, str]) -> None:
    body = enrolment(Phone.with_ed25519("RM"), code_for(world), jwk=jwk)
    assert pointers(refused(OPEN.post("device_keys", body), 422, "enrolment-refused")) == ["/jwk"]
    assert keys(world) == []


def test_a_revoked_key_says_since_when_and_its_tokens_end(world: World) -> None:
    phone, caller = world.phone("RM")
    body = {"id": new_uuid(), "revoked_from": "2026-03-20T12:00:00Z", "reason": "Lost on the yard"}
    path = f"device_keys/{phone.key}/revocations"
    first, second = (world.person("JD").post(path, body) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert first.json()["revoked_from"] == "2026-03-20T12:00:00Z"
    refused(caller.get("me"), 401, "not-authenticated")


def test_a_revoked_key_cannot_ask_for_a_token_again(world: World) -> None:
    phone = Phone.with_ed25519("RM")
    body = enrolment(phone, code_for(world))
    OPEN.made("device_keys", body)
    revocation = {"id": new_uuid(), "revoked_from": datetime.now(UTC).isoformat(), "reason": "Lost"}
    world.administrator.made(f"device_keys/{phone.key}/revocations", revocation)
    assert pointers(refused(OPEN.post("device_keys", body), 422, "enrolment-refused")) == ["/jwk"]


def test_a_lead_enrols_and_revokes_only_people_of_the_own_shop(world: World) -> None:
    lead = world.person("JD")
    asked = {
        "id": new_uuid(),
        "technician": str(world.data.person("LP").id),
        "expires_at": (datetime.now(UTC) + timedelta(hours=1)).isoformat(),
    }
    assert pointers(refused(lead.post("enrolment_codes", asked), 404, "not-found")) == ["/technician"]
    phone, caller = world.phone("LP")
    body = {"id": new_uuid(), "revoked_from": "2026-03-20T12:00:00Z", "reason": "x"}
    refused(lead.post(f"device_keys/{phone.key}/revocations", body), 404, "not-found")
    assert caller.get("me").status_code == 200
    assert lead.get("device_keys").json()["items"] == []
    central = {**asked, "technician": str(world.data.person("PI").id)}
    refused(lead.post("enrolment_codes", central), 403, "not-permitted")
