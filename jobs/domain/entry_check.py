"""Whether stored entries are what was signed and received: recomputed from the bytes as sent, nothing believed.

1. The digest is the SHA-256 of the bytes as sent; the payload stored beside them is theirs.
2. The bytes carry a signature of the enrolled key of that thumbprint, and the key is the entry's technician's.
3. The columns say what the payload says.
4. The receipt (RFC 8785) gives the stored leaf.
5. In a job, positions run from 1 without a gap, each entry names the leaf before it, and the first the opening.
6. The job's head is its last entry.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from jobs.domain.entry_payload import read_entry
from jobs.domain.payload_fields import PayloadError
from jobs.domain.receipt import Receipt
from jobs.domain.record_fault import Fault, FaultCode
from shops.domain.jwk import PublicJwk
from shops.domain.jws import JwsError, parse_payload, read_compact, verify_compact


@dataclass(frozen=True, slots=True)
class EntryRow:
    """An entry as its row stands."""

    id: UUID
    job: UUID
    shop: UUID
    position: int
    kind: str
    step: str | None
    technician: UUID
    key: str
    device_seq: int
    performed_at: datetime
    received_at: datetime
    skew_ms: int
    token: str
    payload: str
    digest: bytes
    previous: bytes
    leaf: bytes


@dataclass(frozen=True, slots=True)
class EnrolledKey:
    """A device key as enrolled, and whose it is."""

    jwk: PublicJwk
    technician: UUID


@dataclass(frozen=True, slots=True)
class JobHead:
    """What the job's row says of its chain; `openings` are the digests at which it may begin."""

    job: UUID
    position: int
    head: bytes
    openings: Sequence[bytes]


def entry_faults(entry: EntryRow, keys: Mapping[str, EnrolledKey]) -> Iterator[Fault]:
    """Rules 1 to 4, for one entry; `keys` by thumbprint."""
    if sha256(entry.token.encode()).digest() != entry.digest:
        yield _fault(entry, FaultCode.ENTRY_DIGEST, "the digest is not that of the bytes as sent")
    if _receipt(entry).leaf() != entry.leaf:
        yield _fault(entry, FaultCode.ENTRY_LEAF, "its receipt gives another leaf than the one stored")
    try:
        jws = read_compact(entry.token.encode())
        signed = read_entry(parse_payload(jws.payload))
    except (JwsError, PayloadError) as error:
        yield _fault(entry, FaultCode.ENTRY_PAYLOAD, f"the bytes as sent are no entry: {error}")
        return
    known = keys.get(entry.key)
    if known is None or known.technician != entry.technician:
        yield _fault(entry, FaultCode.ENTRY_KEY, "its key is not enrolled for its technician")
    elif not verify_compact(jws, known.jwk):
        yield _fault(entry, FaultCode.ENTRY_SIGNATURE, "the signature does not fit the bytes and the enrolled key")
    stored = (entry.id, entry.job, entry.kind, entry.step, entry.device_seq, entry.performed_at, entry.payload)
    said = (signed.id, signed.job, signed.kind.value, signed.step, signed.device_seq, signed.performed_at)
    if stored != (*said, jws.payload.decode()):
        yield _fault(entry, FaultCode.ENTRY_PAYLOAD, "its columns do not say what was signed")


def chain_faults(entries: Sequence[EntryRow], head: JobHead) -> Iterator[Fault]:
    """Rules 5 and 6, for the entries of one job in the order of their positions."""
    expected, previous = 1, None
    for entry in entries:
        if entry.position != expected:
            missing = f"{expected}" if entry.position == expected + 1 else f"{expected} to {entry.position - 1}"
            yield Fault(FaultCode.CHAIN_GAP, "jobs", head.job, f"the job has no entry at position {missing}")
        elif previous is None and entry.previous not in head.openings:
            yield _fault(entry, FaultCode.CHAIN_BROKEN, "it does not begin at the job's opening")
        elif previous is not None and entry.previous != previous:
            yield _fault(entry, FaultCode.CHAIN_BROKEN, f"it does not follow position {entry.position - 1}")
        expected, previous = entry.position + 1, entry.leaf
    last = (entries[-1].position, entries[-1].leaf) if entries else (0, None)
    if head.position != last[0]:
        message = f"its last entry is at position {last[0]}, its head at {head.position}"
        yield Fault(FaultCode.CHAIN_HEAD, "jobs", head.job, message)
    elif head.head != last[1] and (entries or head.head not in head.openings):
        yield Fault(FaultCode.CHAIN_HEAD, "jobs", head.job, "its chain head is not the leaf of its last entry")


def _receipt(entry: EntryRow) -> Receipt:
    return Receipt(entry.id, entry.job, entry.position, entry.digest, entry.previous, entry.received_at, entry.skew_ms)


def _fault(entry: EntryRow, code: FaultCode, message: str) -> Fault:
    return Fault(code, "entries", entry.id, f"position {entry.position} of job {entry.job}: {message}")
