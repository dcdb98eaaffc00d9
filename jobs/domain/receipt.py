"""The receipt of an entry: its place in the job's chain.

    previous(1) = SHA-256(canonical JSON of the job's opening)
    leaf(n)     = SHA-256(0x00 || canonical JSON of the receipt n), previous(n + 1) = leaf(n)

The receipt binds the entry's bytes (by digest), its position, when it came in, the clock skew of its device,
and everything before it. 0x00 is the leaf prefix of RFC 9162, 2.1.1, so that a leaf is never a node.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from uuid import UUID

from jobs.domain.canonical_json import canonical_json


@dataclass(frozen=True, slots=True)
class Opening:
    """What a job is about, fixed when it is opened: the beginning of its chain."""

    job: UUID
    company: UUID
    shop: UUID
    unit: UUID
    coupling: UUID
    top_plate: UUID
    procedure: str  # digest
    purpose: str
    opened_at: datetime

    def canonical(self) -> bytes:
        """RFC 8785 form."""
        return canonical_json(
            {
                "job": str(self.job),
                "company": str(self.company),
                "shop": str(self.shop),
                "unit": str(self.unit),
                "coupling": str(self.coupling),
                "top_plate": str(self.top_plate),
                "procedure": self.procedure,
                "purpose": self.purpose,
                "opened_at": utc_text(self.opened_at),
            }
        )

    def digest(self) -> bytes:
        return sha256(self.canonical()).digest()


@dataclass(frozen=True, slots=True)
class Receipt:
    """What the server adds to an entry."""

    entry: UUID
    job: UUID
    position: int
    digest: bytes
    previous: bytes
    received_at: datetime
    skew_ms: int

    def canonical(self) -> bytes:
        """RFC 8785 form, written out: the members are sorted and their values need no escaping."""
        return (
            f'{{"digest":"{self.digest.hex()}","entry":"{self.entry}","job":"{self.job}",'
            f'"position":{self.position},"previous":"{self.previous.hex()}",'
            f'"received_at":"{utc_text(self.received_at)}","skew_ms":{self.skew_ms}}}'
        ).encode()

    def leaf(self) -> bytes:
        return sha256(b"\x00" + self.canonical()).digest()


def utc_text(at: datetime) -> str:
    """RFC 3339 in UTC with microseconds, always: one spelling of each time."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
