"""Nobody has to trust our JOSE code: another library verifies what is stored, and signs what we accept (joserfc)."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from joserfc import jws
from joserfc.errors import BadSignatureError
from joserfc.jwk import ECKey, OKPKey

from jobs.demo.phone import ENTRY_TYP, Phone
from shops.domain.access import Role
from shops.services.new_id import new_id
from tests.acts import PR_11, step
from tests.record import JOSE, Record

ALGORITHMS = ["Ed25519", "EdDSA", "ES256"]


def other_key(jwk: dict[str, Any]) -> OKPKey | ECKey:
    return OKPKey.import_key(jwk) if jwk["kty"] == "OKP" else ECKey.import_key(jwk)


@pytest.fixture
def stored(record: Record) -> tuple[Record, list[dict[str, Any]], dict[str, OKPKey | ECKey]]:
    """A whole job as the API gives it back, and the keys as it gives them back."""
    job = record.open_job()
    record.play(job, PR_11)
    record.release(job)
    auditor = record.as_role(Role.AUDITOR)
    entries = auditor.get(f"/v1/jobs/{job}/entries?limit=200").json()["items"]
    keys = auditor.get("/v1/device_keys?limit=200").json()["items"]
    return record, entries, {key["thumbprint"]: other_key(key["jwk"]) for key in keys}


def test_every_stored_entry_verifies_under_its_enrolled_key(
    stored: tuple[Record, list[dict[str, Any]], dict[str, OKPKey | ECKey]],
) -> None:
    _, entries, keys = stored
    assert len(entries) == len(PR_11) + 1
    seen = set()
    for entry in entries:
        unverified = jws.extract_compact(entry["token"].encode())
        header = unverified.headers()
        found = jws.deserialize_compact(entry["token"], keys[header["kid"]], algorithms=ALGORITHMS)
        assert json.loads(found.payload)["entry"] == entry["entry"]
        assert header["typ"] == ENTRY_TYP
        seen.add(header["alg"])
    assert seen == {"Ed25519", "ES256"}


def test_a_thumbprint_is_the_one_that_the_other_library_computes(
    stored: tuple[Record, list[dict[str, Any]], dict[str, OKPKey | ECKey]],
) -> None:
    _, _, keys = stored
    assert all(key.thumbprint() == thumbprint for thumbprint, key in keys.items())


def test_one_changed_letter_fails_there_too(
    stored: tuple[Record, list[dict[str, Any]], dict[str, OKPKey | ECKey]],
) -> None:
    _, entries, keys = stored
    header, payload, signature = entries[0]["token"].split(".")
    changed = payload[:-6] + ("A" if payload[-6] != "A" else "B") + payload[-5:]
    kid = jws.extract_compact(entries[0]["token"].encode()).headers()["kid"]
    with pytest.raises(BadSignatureError):
        jws.deserialize_compact(f"{header}.{changed}.{signature}", keys[kid], algorithms=ALGORITHMS)


@pytest.mark.parametrize(("who", "alg"), [("RM", "Ed25519"), ("RM", "EdDSA"), ("OK", "ES256")])
def test_an_entry_that_the_other_library_signed_is_stored_with_credit(record: Record, who: str, alg: str) -> None:
    job, at = record.open_job(), datetime.now(UTC) - timedelta(hours=1)
    payload = {
        "entry": str(new_id(at)),
        "job": str(job),
        "kind": "step",
        **step("identify").body,
        "performed_at": at.isoformat(),
        "device_seq": 1,
        "device_previous": None,
        "procedure": record.digests["PR-11"],
    }
    phone = record.phones[who]
    header = {"alg": alg, "kid": phone.key, "typ": ENTRY_TYP}
    token = jws.serialize_compact(header, json.dumps(payload), private_of(phone), algorithms=ALGORITHMS)
    answer = record.as_role(Role.TECHNICIAN).post("/v1/entries", token, JOSE)
    assert (answer.status_code, answer.json()["credit"]) == (201, True), answer.content


def private_of(phone: Phone) -> OKPKey | ECKey:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    pem = phone.private_key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return OKPKey.import_key(pem) if phone.jwk.alg != "ES256" else ECKey.import_key(pem)
