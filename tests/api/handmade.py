"""Tokens written by hand: well-formed ones of a real job, and forged, confused and malformed ones."""

import hashlib
import hmac
import json
import uuid
from base64 import urlsafe_b64encode
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import connection, transaction

from jobs.demo.phone import ENTRY_TYP, Phone
from shops.domain.access import Role
from shops.domain.jws import sign_compact
from shops.services.new_id import new_id
from tests.record import JOSE, Record, add_unit

Make = Callable[["Bench"], bytes]


@dataclass
class Bench:
    """A record with an open job on a unit of its own, and what it takes to write tokens by hand."""

    record: Record
    job: uuid.UUID

    @property
    def phone(self) -> Phone:
        return self.record.phones["RM"]

    def payload(self, **changed: Any) -> dict[str, Any]:
        now = datetime.now(UTC) - timedelta(hours=1)
        return {
            "entry": str(new_id(now)),
            "job": str(self.job),
            "kind": "step",
            "step": "identify",
            "performed_at": now.isoformat(),
            "device_seq": 9000,
            "device_previous": None,
            "procedure": self.record.digests["PR-11"],
            **changed,
        }

    def token(self, **changed: Any) -> bytes:
        return self.phone.sign(self.payload(**changed), ENTRY_TYP)

    def raw(self, payload: bytes, **header: Any) -> bytes:
        """A token over exactly these payload bytes, signed by RM's phone under a header of one's own."""
        plain = {"alg": self.phone.jwk.alg, "kid": self.phone.key, "typ": ENTRY_TYP, **header}
        named = {name: value for name, value in plain.items() if value is not None}
        signing_input = b64(json.dumps(named).encode()) + b"." + b64(payload)
        return signing_input + b"." + b64(self.phone.private_key.sign(signing_input))  # type: ignore[call-arg]

    def post(self, token: bytes, content: str = JOSE, **headers: str) -> Any:
        return self.record.as_role(Role.TECHNICIAN).post("/v1/entries", token, content, **headers)


def b64(raw: bytes) -> bytes:
    return urlsafe_b64encode(raw).rstrip(b"=")


def rows(record: Record) -> dict[str, int]:
    """How many rows the company has where an entry leaves some, and how far its jobs and units have come."""
    asked = {
        "entries": "SELECT count(*) FROM entries",
        "credits": "SELECT count(*) FROM entry_credits",
        "jobs": "SELECT COALESCE(sum(version), 0) FROM jobs",
        "queue": "SELECT count(*) FROM log_queue",
        "releases": "SELECT count(*) FROM releases",
        "claims": "SELECT count(*) FROM claims",
        "procedures": "SELECT count(*) FROM procedure_revisions",
        "units": "SELECT sum(availability_version) FROM units",
    }
    found = {}
    with transaction.atomic(), connection.cursor() as cursor:
        record.enter()
        for name, query in asked.items():
            cursor.execute(query)
            found[name] = int(cursor.fetchone()[0])
    return found


def tampered(token: bytes) -> bytes:
    header, payload, signature = token.split(b".")
    other = b"B" if signature[:1] == b"A" else b"A"
    return b".".join((header, payload, other + signature[1:]))


def other_payload(bench: Bench) -> bytes:
    header, _, signature = bench.token().split(b".")
    return b".".join((header, b64(json.dumps(bench.payload(step="clean")).encode()), signature))


def unsigned(bench: Bench, signature: bytes) -> bytes:
    header = {"alg": "none", "kid": bench.phone.key, "typ": ENTRY_TYP}
    return b64(json.dumps(header).encode()) + b"." + b64(json.dumps(bench.payload()).encode()) + b"." + signature


def shared_secret(bench: Bench, secret: bytes) -> bytes:
    header = {"alg": "HS256", "kid": bench.phone.key, "typ": ENTRY_TYP}
    message = b64(json.dumps(header).encode()) + b"." + b64(json.dumps(bench.payload()).encode())
    return message + b"." + b64(hmac.new(secret, message, hashlib.sha256).digest())


def with_foreign_signature(bench: Bench) -> bytes:
    """OK's key signs, and the token says that it was RM's."""
    other = bench.record.phones["SV"]
    body = json.dumps(bench.payload()).encode()
    return sign_compact(body, typ=ENTRY_TYP, kid=bench.phone.key, alg=other.jwk.alg, private_key=other.private_key)


def p256_as_ed25519(bench: Bench) -> bytes:
    """A P-256 key's signature under a header that says Ed25519."""
    phone = bench.record.phones["OK"]
    _, payload, signature = phone.sign(bench.payload(), ENTRY_TYP).split(b".")
    lied = json.dumps({"alg": "Ed25519", "kid": phone.key, "typ": ENTRY_TYP}).encode()
    return b".".join((b64(lied), payload, signature))


def deep(levels: int) -> str:
    return '{"a":' * levels + "1" + "}" * levels


def with_text(bench: Bench, old: str, new: str) -> bytes:
    """A signed payload whose JSON text was changed before signing."""
    return bench.raw(json.dumps(bench.payload()).replace(old, new).encode())


def open_bench(record: Record) -> Bench:
    """A job on a unit of its own, so that benches of one record are in nobody's way."""
    with transaction.atomic():
        record.enter()
        unit = add_unit(record, f"B-{uuid.uuid4().hex[:6]}")
    return Bench(record, record.open_job(unit=str(unit)))
