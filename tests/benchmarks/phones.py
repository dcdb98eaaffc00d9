"""Phones that sign their entries before the clock runs."""

import os
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

import orjson
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from jobs.domain.uuid7 import uuid7_from
from shops.domain.jws import sign_compact
from tests.benchmarks.work import Content, contents, kit_of

BETWEEN_ACTS = timedelta(minutes=2)
TAKES_TIME = {"strip": timedelta(minutes=16), "clean": timedelta(minutes=11), "cool": timedelta(minutes=31)}
FIRST_ACT = datetime.now(UTC).replace(microsecond=0) - timedelta(hours=8)  # of each job: sent on the same day


@dataclass
class Phone:
    """One person's device: a key, and the device's own chain."""

    technician: str
    kid: str
    key: Ed25519PrivateKey
    sequence: int = 0
    previous: str | None = None

    def sign(self, job: str, procedure: str, content: Content, at: datetime) -> "Signed":
        self.sequence += 1
        payload = {
            "entry": str(uuid7_from(time.time_ns() // 1_000_000, os.urandom(10))),
            "job": job,
            "kind": content.kind,
            "performed_at": at.isoformat(),
            "device_seq": self.sequence,
            "device_previous": self.previous,
            "procedure": procedure,
            **content.members,
        }
        typ = "rebuild-entry+jws"
        token = sign_compact(orjson.dumps(payload), typ=typ, kid=self.kid, alg="Ed25519", private_key=self.key)
        self.previous = sha256(token).hexdigest()
        return Signed(payload, token)


@dataclass(frozen=True)
class Signed:
    payload: dict[str, Any]
    token: bytes


@dataclass
class Bay:
    """Two people with a phone each, who work on one job after the other."""

    works: Phone
    verifies: Phone
    procedure: str
    last_act: dict[str, datetime] = field(default_factory=dict)
    left: dict[str, Iterator[Content]] = field(default_factory=dict)

    def sign(self, job: str, count: int) -> list[Signed]:
        """The next `count` entries of the job, each later than the one before."""
        rest = self.left.setdefault(job, iter(contents(200, kit_of(job))))
        return [self._sign(job, next(rest)) for _ in range(count)]

    def _sign(self, job: str, content: Content) -> Signed:
        takes = TAKES_TIME.get(content.members.get("step", ""), BETWEEN_ACTS)
        at = self.last_act[job] = self.last_act.get(job, FIRST_ACT) + takes
        phone = self.verifies if content.verifies else self.works
        return phone.sign(job, self.procedure, content, at)


def phone_of(document: dict[str, str]) -> Phone:
    private = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(document["private"]))
    return Phone(document["technician"], document["kid"], private)
