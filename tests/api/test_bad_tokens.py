"""What is no token, tries to confuse, is forged or signed by a key that does not count is refused, and leaves no row."""

import json
import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from jobs.demo.phone import ENROLMENT_TYP, ENTRY_TYP, Phone
from shops.domain.access import Role
from tests.api.handmade import (
    Bench,
    Make,
    b64,
    other_payload,
    p256_as_ed25519,
    rows,
    shared_secret,
    tampered,
    unsigned,
    with_foreign_signature,
)
from tests.api.problems import refused
from tests.record import JOSE, Caller, Record, enrol

NOT_A_TOKEN: dict[str, Make] = {
    "nothing": lambda _: b"",
    "a word": lambda _: b"hello",
    "two parts": lambda bench: bench.token().rsplit(b".", 1)[0],
    "four parts": lambda bench: bench.token() + b".e30",
    "empty parts": lambda _: b"..",
    "with padding": lambda bench: bench.token() + b"==",
    "with a line end": lambda bench: bench.token() + b"\n",
    "standard base64": lambda bench: bench.token().replace(b".", b"+.", 1),
    "JSON serialisation": lambda bench: json.dumps({"payload": "e30", "signatures": []}).encode(),
    "bytes": lambda _: bytes(range(256)),
    "NUL bytes": lambda _: b"\x00.\x00.\x00",
    "cut signature": lambda bench: bench.token()[:-8],
}
CONFUSED: dict[str, Make] = {
    "none without a signature": lambda bench: unsigned(bench, b""),
    "none with a signature": lambda bench: unsigned(bench, b64(bytes(64))),
    "None in other letters": lambda bench: bench.raw(b"{}", alg="nOnE"),
    "HS256 with the public key's bytes": lambda bench: shared_secret(bench, bench.phone.jwk.canonical["x"].encode()),
    "HS256 with the public JWK": lambda bench: shared_secret(bench, bench.phone.jwk.canonical_json.encode()),
    "RS256": lambda bench: bench.raw(json.dumps(bench.payload()).encode(), alg="RS256"),
    "no alg": lambda bench: bench.raw(b"{}", alg=None),
    "alg a list": lambda bench: bench.raw(b"{}", alg=["Ed25519"]),
    "own key": lambda bench: bench.raw(b"{}", jwk=dict(bench.phone.jwk.canonical)),
    "key address": lambda bench: bench.raw(b"{}", jku="http://127.0.0.1/keys"),
    "unencoded payload": lambda bench: bench.raw(b"{}", b64=False, crit=["b64"]),
    "no kid": lambda bench: bench.raw(b"{}", kid=None),
    "kid a path": lambda bench: bench.raw(b"{}", kid="../../etc/passwd"),
    "kid with SQL": lambda bench: bench.raw(b"{}", kid="x' OR '1'='1"),
    "no typ": lambda bench: bench.raw(b"{}", typ=None),
    "typ of another purpose": lambda bench: bench.phone.sign(bench.payload(), ENROLMENT_TYP),
    "typ JWT": lambda bench: bench.phone.sign(bench.payload(), "JWT"),
}
FORGED: dict[str, Make] = {
    "signature changed": lambda bench: tampered(bench.token()),
    "payload changed": other_payload,
    "signed by another phone": with_foreign_signature,
    "Ed25519 key, ES256 header": lambda bench: bench.raw(json.dumps(bench.payload()).encode(), alg="ES256"),
    "P-256 key, Ed25519 header": p256_as_ed25519,
    "all zero": lambda bench: bench.token().rsplit(b".", 1)[0] + b"." + b64(bytes(64)),
}


@pytest.mark.parametrize("name", NOT_A_TOKEN)
@pytest.mark.parametrize("path", ["entries", "entry_previews", "releases"])
def test_what_is_no_token_is_refused(bench: Bench, committed: Any, path: str, name: str) -> None:
    before = rows(bench.record)
    caller = bench.record.as_role(Role.LEAD)
    refused(caller.post(f"/v1/{path}", NOT_A_TOKEN[name](bench), JOSE), 422, "bad-entry")
    assert rows(bench.record) == before


@pytest.mark.parametrize("name", CONFUSED)
def test_a_header_that_tries_to_confuse_is_refused(bench: Bench, committed: Any, name: str) -> None:
    before = rows(bench.record)
    refused(bench.post(CONFUSED[name](bench)), 422, "bad-entry")
    assert rows(bench.record) == before


@pytest.mark.parametrize("name", FORGED)
def test_a_forged_signature_is_refused(bench: Bench, committed: Any, name: str) -> None:
    before = rows(bench.record)
    refused(bench.post(FORGED[name](bench)), 422, "signature-invalid")
    assert rows(bench.record) == before


def test_an_unknown_key_is_refused(bench: Bench, committed: Any) -> None:
    before = rows(bench.record)
    stranger = Phone.with_ed25519("RM")
    refused(bench.post(stranger.sign(bench.payload(), ENTRY_TYP)), 422, "key-unknown")
    assert rows(bench.record) == before


def test_a_key_of_another_company_is_an_unknown_key(bench: Bench, record: Record) -> None:
    before = rows(bench.record)
    refused(bench.post(record.phones["RM"].sign(bench.payload(), ENTRY_TYP)), 422, "key-unknown")
    assert rows(bench.record) == before


def test_a_key_that_was_revoked_at_the_time_of_the_act_is_refused(record: Record) -> None:
    phone = lost_phone(record)
    bench = Bench(record, record.open_job())
    before = rows(record)
    refused(bench.post(phone.sign(bench.payload(), ENTRY_TYP)), 422, "key-revoked")
    assert rows(record) == before


def test_what_a_key_signed_before_it_was_revoked_is_stored(record: Record) -> None:
    phone = lost_phone(record)
    bench = Bench(record, record.open_job())
    earlier = (datetime.now(UTC) - timedelta(days=3)).isoformat()
    answer = bench.post(phone.sign(bench.payload(performed_at=earlier), ENTRY_TYP))
    assert (answer.status_code, answer.json()["credit"]) == (201, True)


def lost_phone(record: Record) -> Phone:
    """A second phone of RM, revoked from two days ago on."""
    phone = Phone.with_ed25519("RM")
    with transaction.atomic():
        record.enter()
        enrol(record, "RM", phone)
    since = (datetime.now(UTC) - timedelta(days=2)).isoformat()
    body = {"id": str(uuid.uuid4()), "revoked_from": since, "reason": "Lost on the yard"}
    answer = record.as_role(Role.LEAD).post(f"/v1/device_keys/{phone.key}/revocations", body)
    assert answer.status_code == 201, answer.content
    return phone


@pytest.mark.parametrize("token", ["", "x", "rr_" + "A" * 43, "A" * 5000, "Grüße", "a b c"])
def test_a_token_that_is_none_lets_nobody_in(bench: Bench, committed: Any, token: str) -> None:
    answer = Caller(None).get("/v1/jobs", Authorization=f"Bearer {token}")
    refused(answer, 401, "not-authenticated")
    assert answer["WWW-Authenticate"].startswith("Bearer")
