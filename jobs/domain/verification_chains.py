"""Steps 4 and 5: the chain of each device, and the chain of the job.

4. A device numbers its entries from 1 and names in each the SHA-256 of the one before. Two entries with one number
   are a fork; one that names another digest than that of the entry before it does not follow; where the record says
   so itself (R703, R707), that is no contradiction. A number that is not here is either of another job (its digest and
   the job are given, and the next entry has to name that digest) or missing.
5. A job's entries have the positions 1, 2, 3 ...; each receipt is over the bytes of its entry and names the leaf of
   the receipt before, the first the opening: leaf = SHA-256(00 || receipt). The head is the last leaf, a release
   names the head that its signer saw, and the record's head is the one of the bundle.

Example: an entry taken out of the middle leaves a position that nobody has, and a leaf that nobody follows.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any, Final

import orjson

from jobs.domain.bundle_parts import BundleParts
from jobs.domain.canonical_json import CanonicalJsonError, canonical_json
from jobs.domain.entry import ReleaseBody
from jobs.domain.merkle import leaf_hash
from jobs.domain.rules import r703_forked_sequence, r707_forked_across_jobs
from jobs.domain.verification_entries import ReadEntry
from jobs.domain.verification_finding import Remark, Step, mismatch, note, unchecked

_FORKED: Final = frozenset({r703_forked_sequence.RULE.number, r707_forked_across_jobs.RULE.number})


def device_remarks(parts: BundleParts, entries: list[ReadEntry]) -> Iterator[Remark]:
    """Step 4."""
    devices: dict[str, list[ReadEntry]] = {}
    for entry in entries:
        devices.setdefault(entry.jws.kid, []).append(entry)
    told = _told(parts)
    for key, made in devices.items():
        device = _Device(key, told)
        for number, digest, job in parts.devices.get(key, ()):
            if str(job) == parts.manifest["job"]:
                what = f"Entry {number} of device {key} is said to be of this job; it is not here."
                yield mismatch(Step.DEVICE_CHAINS, "entry_withheld", "devices.json", what)
            device.elsewhere.setdefault(int(number), set()).add(str(digest))
        yield from device.remarks(sorted(made, key=lambda entry: entry.signed.device_seq))


def _told(parts: BundleParts) -> set[str]:
    """The entries of which the record itself says that their phone's chain is forked or broken."""
    outcomes: Mapping[str, Any] = parts.claims.get("outcomes", {})
    return {
        entry for entry, outcome in outcomes.items() if any(found["rule"] in _FORKED for found in outcome["findings"])
    }


@dataclass(slots=True)
class _Device:
    """One phone: its key, the entries that the record tells of, its entries on other jobs."""

    key: str
    told: set[str]
    elsewhere: dict[int, set[str]] = field(default_factory=dict)

    def remarks(self, made: list[ReadEntry]) -> Iterator[Remark]:
        digests, last = {number: set(found) for number, found in self.elsewhere.items()}, 0
        told = {entry.signed.device_seq for entry in made if entry.id in self.told}
        for entry in made:
            number = entry.signed.device_seq
            if number in digests:
                yield _wrong("fork", entry, number in told, f"Its device has two entries number {number}.")
            yield from self._between(entry.name, last + 1, number - 1)
            before = digests.get(number - 1)
            if (number == 1 and entry.signed.device_previous is not None) or (
                number > 1 and before and entry.signed.device_previous not in before
            ):
                what = f"It does not name entry {number - 1} of its device as the one before it."
                yield _wrong("device_chain_broken", entry, entry.id in self.told, what)
            digests.setdefault(number, set()).add(entry.jws.digest.hex())
            last = number

    def _between(self, where: str, first: int, end: int) -> Iterator[Remark]:
        if first > end:
            return
        numbers = range(first, min(end, first + 10_000) + 1)
        missing = [number for number in numbers if number not in self.elsewhere]
        if missing:
            what = f"Entries {missing[0]} to {missing[-1]} of device {self.key} are not on record: lost, or withheld."
            yield unchecked(Step.DEVICE_CHAINS, "gap", where, what)
        else:
            what = f"Entries {first} to {end} of device {self.key} are of other jobs; those jobs' bundles have them."
            yield note(Step.DEVICE_CHAINS, "other_jobs", where, what)


def _wrong(code: str, entry: ReadEntry, is_told: bool, what: str) -> Remark:
    """A contradiction, unless the record tells of it by rule R703 or R707: then the record says what is so."""
    if is_told:
        return note(Step.DEVICE_CHAINS, code, entry.name, f"{what} The record says so.")
    return mismatch(Step.DEVICE_CHAINS, code, entry.name, what)


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
    if not receipt or not _is_canonical(entry.sent.receipt or b"", receipt):
        yield mismatch(Step.JOB_CHAIN, "receipt_malformed", entry.name, "Its receipt is no canonical JSON object.")
        return
    if receipt.get("digest") != entry.jws.digest.hex():
        yield mismatch(Step.JOB_CHAIN, "receipt_digest", entry.name, "Its receipt is over other bytes.")
    place = (receipt.get("entry"), receipt.get("job"), receipt.get("position"))
    if place != (entry.id, parts.manifest["job"], entry.sent.position):
        yield mismatch(Step.JOB_CHAIN, "receipt_place", entry.name, "Its receipt is of another entry, job or position.")
    if entry.job != parts.manifest["job"]:
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
    except orjson.JSONDecodeError:
        return None
    return document if isinstance(document, dict) and _is_canonical(raw, document) else None


def _is_canonical(raw: bytes, document: Mapping[str, Any]) -> bool:
    try:
        return canonical_json(document) == raw
    except CanonicalJsonError:
        return False
