"""A phone: it keeps a private key, numbers and chains its own entries, and signs what its owner logs."""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

import orjson
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, EllipticCurvePrivateKey, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.domain.time_window import seen_in
from jobs.domain.uuid7 import uuid7_from
from shops.domain.jwk import PublicJwk, jwk_of
from shops.domain.jws import sign_compact
from shops.domain.registry_statement import STATEMENT_TYP, statement_payload

ENTRY_TYP = "rebuild-entry+jws"
ENROLMENT_TYP = "rebuild-enrolment+jws"


@dataclass(slots=True)
class Phone:
    """One person's device. `sequence` and `previous` are its own chain, over all jobs.

    `seen_checkpoint` is the newest checkpoint of the log that it was given, as its entries name it.
    """

    owner: str
    private_key: Ed25519PrivateKey | EllipticCurvePrivateKey
    jwk: PublicJwk = field(init=False)
    sequence: int = 0
    previous: str | None = None
    seen_checkpoint: Mapping[str, Any] | None = None

    def __post_init__(self) -> None:
        self.jwk = jwk_of(self.private_key.public_key())

    @classmethod
    def with_ed25519(cls, owner: str) -> "Phone":
        return cls(owner, Ed25519PrivateKey.generate())

    @classmethod
    def with_p256(cls, owner: str) -> "Phone":
        """A phone whose key lives in hardware, as most do."""
        return cls(owner, generate_private_key(SECP256R1()))

    @property
    def key(self) -> str:
        return self.jwk.thumbprint

    def sign(self, payload: Mapping[str, Any], typ: str) -> bytes:
        body = orjson.dumps(payload)
        return sign_compact(body, typ=typ, kid=self.key, alg=self.jwk.alg, private_key=self.private_key)

    def proof(self, code: str, device_name: str) -> str:
        """Proof that this phone holds the private key: a signature over the one-time code."""
        return self.sign({"code": code, "device_name": device_name}, ENROLMENT_TYP).decode()

    def statement(self, table: str, row: Mapping[str, Any]) -> str:
        """A fact of the registry as this phone's owner signs it; `row` by column, as JSON has it."""
        return self.sign(statement_payload(table, row), STATEMENT_TYP).decode()

    def see(self, checkpoint: Mapping[str, Any] | None) -> None:
        """The log's newest checkpoint, as the server hands it out: what is signed from now on is younger than it."""
        if checkpoint is not None:
            self.seen_checkpoint = seen_in(checkpoint["note"].encode())

    def entry(
        self, job: UUID | str, procedure: str, kind: str, at: datetime, body: Mapping[str, Any] | None = None
    ) -> bytes:
        """The next entry of this phone, signed; it counts whether or not it is ever sent."""
        self.sequence += 1
        payload = {
            "entry": str(uuid7_from(int(at.timestamp() * 1000), secrets.token_bytes(10))),
            "job": str(job),
            "kind": kind,
            "performed_at": at.isoformat(),
            "device_seq": self.sequence,
            "device_previous": self.previous,
            "procedure": procedure,
            **({"seen_checkpoint": self.seen_checkpoint} if self.seen_checkpoint else {}),
            **(body or {}),
        }
        token = self.sign(payload, ENTRY_TYP)
        self.previous = sha256(token).hexdigest()
        return token
