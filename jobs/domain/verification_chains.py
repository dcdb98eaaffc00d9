"""Steps 4 and 5: the chain of each device, and the chain of the job.

4. A device numbers its entries from 1 and names in each the SHA-256 of the one before. Two entries with one number
   are a fork; one that names another digest than that of the entry before it does not follow; a number that is not
   here is either said to be of another job (its digest is given, and the next entry has to name it) or missing.
5. A job's entries have the positions 1, 2, 3 ...; each receipt is over the bytes of its entry and names the leaf of
   the receipt before, the first the opening: leaf = SHA-256(00 || receipt). The head is the last leaf, a release
   names the head that its signer saw, and the record's head is the one of the bundle.

Example: an entry taken out of the middle leaves a position that nobody has, and a leaf that nobody follows.
"""

from collections.abc import Iterator, Mapping
from hashlib import sha256
from typing import Any

import orjson

from jobs.domain.bundle_parts import BundleParts
from jobs.domain.canonical_json import CanonicalJsonError, canonical_json
from jobs.domain.entry import ReleaseBody
from jobs.domain.merkle import leaf_hash
from jobs.domain.verification_entries import ReadEntry
from jobs.domain.verification_finding import Remark, Step, mismatch, unchecked


def device_remarks(entries: list[ReadEntry], elsewhere: Mapping[str, Any]) -> Iterator[Remark]:
    """Step 4; `elsewhere` has the (number, digest) of each device's entries on other jobs."""
    devices: dict[str, list[ReadEntry]] = {}
    for entry in entries:
        devices.setdefault(entry.jws.kid, []).append(entry)
    for key, made in devices.items():
        others = {int(number): str(digest) for number, digest in elsewhere.get(key, ())}
        yield from _device(key, sorted(made, key=lambda entry: entry.signed.device_seq), others)


def _device(key: str, made: list[ReadEntry], others: dict[int, str]) -> Iterator[Remark]:
    digests, last = dict(others), 0
    for entry in made:
        number = entry.signed.device_seq
        if number in digests:
            yield mismatch(Step.DEVICE_CHAINS, "fork", entry.name, f"Its device has two entries number {number}.")
            continue
        yield from _between(key, entry.name, last + 1, number - 1, others)
        yield from _follows(entry, digests, number)
        digests[number], last = entry.jws.digest.hex(), number


def _between(key: str, where: str, first: int, end: int, others: dict[int, str]) -> Iterator[Remark]:
    if first > end:
        return
    missing = [number for number in range(first, min(end, first + 10_000) + 1) if number not in others]
    if missing:
        what = f"Entries {missing[0]} to {missing[-1]} of device {key} are not on record: lost, or withheld."
        yield unchecked(Step.DEVICE_CHAINS, "gap", where, what)
    else:
        what = f"Entries {first} to {end} of device {key} are said to be of other jobs; their bytes are not here."
        yield unchecked(Step.DEVICE_CHAINS, "other_jobs", where, what)


def _follows(entry: ReadEntry, digests: dict[int, str], number: int) -> Iterator[Remark]:
    said = entry.signed.device_previous
    expected = None if number == 1 else digests.get(number - 1)
    if (number == 1 or expected is not None) and said != expected:
        what = f"It does not name entry {number - 1} of its device as the one before it."
        yield mismatch(Step.DEVICE_CHAINS, "device_chain_broken", entry.name, what)


def job_chain_remarks(parts: BundleParts, entries: list[ReadEntry]) -> Iterator[Remark]:
    """Step 5."""
    yield from _opening(parts)
    read = {entry.name: entry for entry in entries}
    expected, head = 1, sha256(parts.opening).hexdigest()
    for sent in parts.entries:
        if sent.position != expected:
            what = f"The job has no entry at position {expected}."
            yield mismatch(Step.JOB_CHAIN, "position_missing", sent.name, what)
        entry = read.get(sent.name)
        if entry is not None:
            yield from _receipt(parts, entry, head if sent.position == expected else None)
        expected, head = sent.position + 1, leaf_hash(sent.receipt or b"").hex()
    claimed = (parts.claims.get("entries"), parts.claims.get("chain_head"))
    if claimed != (expected - 1, head):
        what = (
            f"The record says {claimed[0]} entries and head {claimed[1]}; the entries give {expected - 1} and {head}."
        )
        yield mismatch(Step.JOB_CHAIN, "head", "claims.json", what)


def _opening(parts: BundleParts) -> Iterator[Remark]:
    where = "opening.json"
    document = _canonical_object(parts.opening)
    if document is None:
        yield mismatch(Step.JOB_CHAIN, "opening_malformed", where, "It is no canonical JSON object.")
    elif (document.get("job"), document.get("company")) != (parts.manifest["job"], parts.manifest["company"]["id"]):
        yield mismatch(Step.JOB_CHAIN, "opening_of_another", where, "It opens another job than the manifest's.")
    elif document.get("procedure") not in parts.procedures:
        yield unchecked(Step.JOB_CHAIN, "procedure_missing", where, "The procedure that it names is not here.")
    for digest, raw in parts.procedures.items():
        if sha256(raw).hexdigest() != digest:
            where = f"procedures/{digest}.json"
            yield mismatch(Step.JOB_CHAIN, "procedure_changed", where, "It is not the procedure of its digest.")


def _receipt(parts: BundleParts, entry: ReadEntry, previous: str | None) -> Iterator[Remark]:
    receipt = entry.receipt
    if _canonical_object(entry.sent.receipt or b"") is None:
        yield mismatch(Step.JOB_CHAIN, "receipt_malformed", entry.name, "Its receipt is no canonical JSON object.")
        return
    if receipt.get("digest") != entry.jws.digest.hex():
        yield mismatch(Step.JOB_CHAIN, "receipt_digest", entry.name, "Its receipt is over other bytes.")
    place = (receipt.get("entry"), receipt.get("job"), receipt.get("position"))
    if place != (str(entry.signed.id), parts.manifest["job"], entry.sent.position):
        yield mismatch(Step.JOB_CHAIN, "receipt_place", entry.name, "Its receipt is of another entry, job or position.")
    if str(entry.signed.job) != parts.manifest["job"]:
        yield mismatch(Step.JOB_CHAIN, "other_job", entry.name, "It was signed for another job.")
    if previous is not None and receipt.get("previous") != previous:
        yield mismatch(Step.JOB_CHAIN, "chain_broken", entry.name, "It does not follow the entry before it.")
    if entry.signed.procedure not in parts.procedures:
        yield unchecked(Step.JOB_CHAIN, "procedure_missing", entry.name, "The procedure that it names is not here.")
    body = entry.signed.body
    if isinstance(body, ReleaseBody) and body.chain_head != receipt.get("previous"):
        what = "Its signer saw another head of the job than the entry before it gives."
        yield mismatch(Step.JOB_CHAIN, "release_head", entry.name, what)


def _canonical_object(raw: bytes) -> dict[str, Any] | None:
    try:
        document = orjson.loads(raw)
        return document if isinstance(document, dict) and canonical_json(document) == raw else None
    except (orjson.JSONDecodeError, CanonicalJsonError):
        return None
