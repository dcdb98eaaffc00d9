"""Steps 2 and 3: the bytes as signed, and the keys that signed them.

2. Every entry is a compact JWS (RFC 7515) of type `rebuild-entry+jws`, and its signature is that of the key that it
   names, by the RFC 7638 thumbprint.
3. A key is the one of its thumbprint; who enrolled it held its private part, and signed the name of the device; the
   entry's row names the key's person; and what a key signed outside its life (enrolment to revocation) has no credit.

Example: an entry signed again by the server, with a key of its own, names a thumbprint that the phone's key has not.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

import orjson

from jobs.domain.bundle_parts import MALFORMED, BundleParts, SentEntry
from jobs.domain.entry import SignedEntry
from jobs.domain.entry_payload import read_entry
from jobs.domain.payload_fields import PayloadError
from jobs.domain.verification_finding import Remark, Step, mismatch, unchecked
from shops.domain.jwk import JwkError, PublicJwk, read_public_jwk
from shops.domain.jws import CompactJws, JwsError, parse_payload, read_compact, verify_compact

ENTRY_TYP: Final = "rebuild-entry+jws"
ENROLMENT_TYP: Final = "rebuild-enrolment+jws"


@dataclass(frozen=True, slots=True)
class ReadEntry:
    """An entry taken apart: what was signed, and the receipt, where they could be read."""

    sent: SentEntry
    jws: CompactJws
    signed: SignedEntry
    receipt: Mapping[str, Any]
    id: str
    job: str

    @property
    def name(self) -> str:
        return self.sent.name


@dataclass(frozen=True, slots=True)
class KeyFact:
    """A device key as its row says, and the key itself."""

    row: Mapping[str, Any]
    jwk: PublicJwk
    revoked_from: datetime | None


def read_entries(parts: BundleParts) -> tuple[list[ReadEntry], list[Remark]]:
    entries, remarks = list[ReadEntry](), list[Remark]()
    for sent in parts.entries:
        try:
            jws = read_compact(sent.token, typ=ENTRY_TYP)
            signed = read_entry(parse_payload(jws.payload))
        except (JwsError, PayloadError) as error:
            remarks.append(mismatch(Step.SIGNATURES, "entry_malformed", sent.name, f"It is no entry: {error}"))
            continue
        entries.append(ReadEntry(sent, jws, signed, _receipt(sent), str(signed.id), str(signed.job)))
    return entries, remarks


def _receipt(sent: SentEntry) -> Mapping[str, Any]:
    try:
        found = orjson.loads(sent.receipt or b"{}")
    except orjson.JSONDecodeError:
        return {}
    return found if isinstance(found, dict) else {}


def read_keys(parts: BundleParts) -> tuple[dict[str, KeyFact], list[Remark]]:
    """The device keys by thumbprint; what is no key, or another's, counts for nothing and is told."""
    keys, remarks = dict[str, KeyFact](), list[Remark]()
    for row in parts.rows("device_keys"):
        where = f"device_keys {row['id']}"
        try:
            jwk = read_public_jwk(row["jwk"])
            if jwk.thumbprint != row["thumbprint"]:
                remarks.append(mismatch(Step.KEYS, "key_changed", where, "The key is not the one of its thumbprint."))
                continue
            remarks += _possession(where, row, jwk)
        except (JwkError, *MALFORMED) as error:
            remarks.append(mismatch(Step.KEYS, "key_malformed", where, f"It is no key: {error}."))
            continue
        keys[jwk.thumbprint] = KeyFact(row, jwk, _revoked_from(parts, row["id"]))
    return keys, remarks


def _possession(where: str, row: Mapping[str, Any], jwk: PublicJwk) -> Iterator[Remark]:
    """The phone signed a one-time code, of which only the hash is kept, and its name."""
    try:
        proof = read_compact(row["proof"].encode(), typ=ENROLMENT_TYP)
        is_own = verify_compact(proof, jwk) and parse_payload(proof.payload)["device_name"] == row["device_name"]
    except JwsError:
        is_own = False
    if not is_own:
        yield mismatch(Step.KEYS, "possession_not_proved", where, "Its enrolment is not signed by this key.")


def _revoked_from(parts: BundleParts, key: str) -> datetime | None:
    times = [row["revoked_from"] for row in parts.rows("key_revocations") if row["key_id"] == key]
    return min((datetime.fromisoformat(time) for time in times), default=None)


def signature_remarks(entries: list[ReadEntry], keys: Mapping[str, KeyFact]) -> Iterator[Remark]:
    """Step 2."""
    for entry in entries:
        key = keys.get(entry.jws.kid)
        if key is None:
            what = f"No key of thumbprint {entry.jws.kid} is here: its signature says nothing."
            yield unchecked(Step.SIGNATURES, "key_missing", entry.name, what)
        elif not verify_compact(entry.jws, key.jwk):
            what = "The signature does not fit the bytes and the enrolled key."
            yield mismatch(Step.SIGNATURES, "signature_wrong", entry.name, what)


def key_remarks(
    entries: list[ReadEntry], keys: Mapping[str, KeyFact], rows: Mapping[str, Mapping[str, Any]], credited: set[str]
) -> Iterator[Remark]:
    """Step 3, entry by entry; `rows` are the rows of the entries by id, `credited` the ids that have credit."""
    for entry in entries:
        key, row = keys.get(entry.jws.kid), rows.get(entry.id)
        if key is None:
            continue
        if row is not None and row["technician_id"] != key.row["technician_id"]:
            yield mismatch(Step.KEYS, "other_person", entry.name, "Its row names another person than the key's.")
        if entry.id in credited:
            yield from _outside_life(entry, key)


def _outside_life(entry: ReadEntry, key: KeyFact) -> Iterator[Remark]:
    at = entry.signed.performed_at + timedelta(milliseconds=entry.receipt.get("skew_ms", 0))
    enrolled = datetime.fromisoformat(key.row["enrolled_at"])
    if at < enrolled:
        what = f"It has credit, but was done on {at:%Y-%m-%d %H:%M}, before its key was enrolled."
        yield mismatch(Step.KEYS, "key_not_valid", entry.name, what)
    if key.revoked_from is not None and at >= key.revoked_from:
        what = f"It has credit, but its key was revoked from {key.revoked_from:%Y-%m-%d %H:%M} on."
        yield mismatch(Step.KEYS, "key_not_valid", entry.name, what)
