"""Steps 6 and 7: the rows that the record rests on, in the company's log; and the log's checkpoints.

6. Every row here is one of the job's company and hashes to its leaf (RFC 9162, 2.1.1: SHA-256(00 || the line)), and
   the leaf's proof gives the root of the bundle's checkpoint. The row of an entry says what the entry's bytes and
   receipt say, and there is one for each entry. A row without a place was not sequenced yet: that is not checked.
7. The checkpoint is signed by the log's key: by one that the auditor holds, or one that it handed over to. Every
   earlier checkpoint, in the bundle or in the auditor's hand, is signed too and continued by the bundle's (or, where
   it is newer, continues it). Of the witnesses that the auditor knows, as many cosigned as he asks for.

Example: the auditor kept a checkpoint of 812 leaves in May. The bundle of November proves that its 9,420 leaves begin
with those 812; if one of them was changed since, no proof can.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from jobs.domain.bundle_parts import MALFORMED, BundleParts, FactLine
from jobs.domain.checkpoint import Checkpoint, CheckpointError, open_checkpoint, read_checkpoint_text
from jobs.domain.log_key_change import LogKeyError, follow_key_changes, log_origin
from jobs.domain.log_leaf import LOGGED_TABLES
from jobs.domain.merkle import leaf_hash, verify_consistency
from jobs.domain.merkle_paths import SharedPaths
from jobs.domain.signed_note import NoteError, NoteKey, check_note, read_note, read_note_key
from jobs.domain.verification_entries import ReadEntry
from jobs.domain.verification_finding import Remark, Step, mismatch, unchecked


@dataclass(frozen=True, slots=True)
class ConsistencyProof:
    """That a log of `second` leaves continues itself at `first` (RFC 9162, 2.1.4), as the API gives it."""

    first: int
    second: int
    proof: tuple[bytes, ...]


@dataclass(frozen=True, slots=True)
class Trust:
    """What the auditor brings: keys and a checkpoint from outside the bundle. All of it may be missing."""

    log_keys: tuple[NoteKey, ...] = ()
    witness_keys: tuple[NoteKey, ...] = ()
    witnesses_wanted: int = 0
    checkpoint: bytes | None = None
    proofs: tuple[ConsistencyProof, ...] = ()


def inclusion_remarks(parts: BundleParts, checkpoint: Checkpoint | None) -> Iterator[Remark]:
    """Step 6, for every row."""
    places, lines = _places(parts), [line for lines in parts.facts.values() for line in lines]
    seen: set[tuple[str, str]] = set()
    company = parts.manifest["company"]["id"]
    paths = None if checkpoint is None else SharedPaths(checkpoint.size, checkpoint.root)
    for line in lines:
        where = f"{line.table} {line.id}"
        if line.table not in LOGGED_TABLES or (line.table, line.id) in seen:
            yield mismatch(Step.INCLUSION, "row_refused", where, "It is of no logged table, or here twice.")
        if line.columns.get("company_id") != company:
            yield mismatch(Step.INCLUSION, "other_company", where, "It is a row of another company.")
        seen.add((line.table, line.id))
        place = places.pop((line.table, line.id), None)
        if place is None or paths is None:
            why = "it was not under a checkpoint yet" if paths else "there is no checkpoint"
            what = f"It has no proof: {why}. Fetch the bundle again: the worker signs within seconds."
            yield unchecked(Step.INCLUSION, "not_sequenced", where, what)
        else:
            yield from _place_remarks(where, line, place, paths)
    for table, identifier in places:
        yield mismatch(
            Step.INCLUSION, "row_missing", f"{table} {identifier}", "The log names this row; it is not here."
        )


def _places(parts: BundleParts) -> dict[tuple[str, str], Mapping[str, Any]]:
    return {(place["table"], place["row"]): place for place in parts.leaves}


def _place_remarks(where: str, line: FactLine, place: Mapping[str, Any], paths: SharedPaths) -> Iterator[Remark]:
    leaf, index = leaf_hash(line.raw), place["index"]
    if leaf.hex() != place["leaf"]:
        yield mismatch(Step.INCLUSION, "row_changed", where, f"It is not what leaf {index} of the log says.")
    elif not paths.include(leaf, index, place["proof"]):
        yield mismatch(
            Step.INCLUSION, "not_included", where, f"Its proof does not give the checkpoint's root at leaf {index}."
        )


def entry_row_remarks(entries: Sequence[ReadEntry], rows: Mapping[str, Mapping[str, Any]]) -> Iterator[Remark]:
    """Step 6, for the rows of entries; `rows` by id."""
    left = dict(rows)
    for entry in entries:
        row = left.pop(entry.id, None)
        if row is None:
            yield mismatch(Step.INCLUSION, "row_missing", entry.name, "The entry has no row of the log.")
        elif any(row.get(name) != said for name, said in _as_sent(entry)):
            yield mismatch(Step.INCLUSION, "row_says_other", entry.name, "Its row does not say what was signed.")
    for identifier in left:
        yield mismatch(Step.INCLUSION, "entry_missing", f"entries {identifier}", "The log has it; it is not here.")


def _as_sent(entry: ReadEntry) -> Iterator[tuple[str, Any]]:
    signed, receipt = entry.signed, entry.receipt
    yield "job_id", str(signed.job)
    yield "kind", signed.kind.value
    yield "device_seq", signed.device_seq
    yield "key", entry.jws.kid
    yield "token", entry.sent.token.decode("ascii", "replace")
    yield "digest", entry.jws.digest.hex()
    for name in ("position", "previous", "received_at", "skew_ms"):
        yield name, receipt.get(name)


def log_keys_of(parts: BundleParts, trust: Trust) -> tuple[list[NoteKey], list[Remark]]:
    """The keys whose signature counts: the trusted ones, and those before and after them in the hand-overs."""
    where, rows = "facts/log_keys.ndjson", sorted(parts.rows("log_keys"), key=lambda row: row["number"])
    try:
        keys = [read_note_key(row["vkey"]) for row in rows]
        changes = follow_key_changes(keys[0], [(row.get("change") or "").encode() for row in rows[1:]]) if keys else ()
    except (NoteError, LogKeyError, *MALFORMED) as error:
        remark = mismatch(Step.CHECKPOINTS, "log_keys_broken", where, f"The log's keys do not follow: {error}")
        return list(trust.log_keys), [remark]
    if not trust.log_keys:
        what = (
            "No key of the log is known from outside: the bundle's own is believed. Have the operator tell it to you "
            "(GET /v1/log/key shows it), and name it with --log-key."
        )
        return keys, [unchecked(Step.CHECKPOINTS, "log_key_not_known", where, what)]
    remarks = [
        unchecked(
            Step.CHECKPOINTS, "log_key_lost", where, f"Key {read.change.number} was not signed by the one before."
        )
        for read in changes
        if not read.by_old and read.change.new not in trust.log_keys
    ]
    if not set(trust.log_keys) & set(keys):
        what = "None of the log's keys here is the one that is trusted."
        return list(trust.log_keys), [mismatch(Step.CHECKPOINTS, "log_key_other", where, what)]
    return [*trust.log_keys, *(key for key in keys if key not in trust.log_keys)], remarks


_NOT_SIGNED = "No checkpoint had been signed. Fetch the bundle again once the server's worker has run."


def open_newest(parts: BundleParts, keys: Sequence[NoteKey]) -> tuple[Checkpoint | None, list[Remark]]:
    """The bundle's checkpoint. What is not signed proves nothing, but its root is still compared with the rows."""
    where = "log/checkpoint.note"
    if parts.checkpoint is None:
        return None, [unchecked(Step.CHECKPOINTS, "no_checkpoint", where, _NOT_SIGNED)]
    opened, remark = _open(parts.checkpoint, keys, where)
    remarks = [remark] if remark else []
    if opened is not None and opened.origin != log_origin(parts.manifest["company"]["slug"]):
        remarks.append(mismatch(Step.CHECKPOINTS, "other_log", where, f"It is of the log {opened.origin}."))
    return opened, remarks


def _open(raw: bytes, keys: Sequence[NoteKey], where: str) -> tuple[Checkpoint | None, Remark | None]:
    try:
        return open_checkpoint(raw, log_keys=keys).checkpoint, None
    except (NoteError, CheckpointError) as error:
        remark = mismatch(Step.CHECKPOINTS, "checkpoint_signature", where, f"It does not count: {error}")
    try:
        return read_checkpoint_text(read_note(raw).text), remark
    except (NoteError, CheckpointError):
        return None, remark


def checkpoint_remarks(
    parts: BundleParts, trust: Trust, newest: Checkpoint, keys: Sequence[NoteKey], counted: list[bytes]
) -> Iterator[Remark]:
    """Step 7, beyond the signature of the bundle's own checkpoint; `counted` gets the notes that it continues."""
    proofs = {(proof.first, proof.second): proof.proof for proof in trust.proofs}
    for one in parts.checkpoints:
        where = f"log/checkpoints.json size {one['size']}"
        earlier, remark = _open(one["note"].encode(), keys, where)
        proof = tuple(bytes.fromhex(value) for value in one["consistency"])
        if remark is not None:
            yield remark
        if earlier is not None:
            proofs.setdefault((earlier.size, newest.size), proof)
            if not verify_consistency(earlier.size, newest.size, earlier.root, newest.root, proof):
                yield mismatch(
                    Step.CHECKPOINTS, "not_consistent", where, "The bundle's checkpoint does not continue it."
                )
            elif remark is None:
                counted.append(one["note"].encode())
    if trust.checkpoint is not None:
        yield from _kept(trust.checkpoint, newest, keys, proofs)
    yield from _witnesses(parts.checkpoint or b"", trust)


def _kept(
    raw: bytes, newest: Checkpoint, keys: Sequence[NoteKey], proofs: Mapping[tuple[int, int], tuple[bytes, ...]]
) -> Iterator[Remark]:
    where = "the kept checkpoint"
    kept, remark = _open(raw, keys, where)
    if remark is not None:
        yield remark
    if kept is None:
        return
    if kept.origin != newest.origin:
        yield mismatch(Step.CHECKPOINTS, "other_log", where, f"It is of the log {kept.origin}.")
        return
    first, second = sorted((kept, newest), key=lambda one: one.size)
    needs_none = first.size in {0, second.size}
    proof = () if needs_none else proofs.get((first.size, second.size))
    if proof is None:
        what = f"No proof from {first.size} to {second.size} leaves is here: fetch one and give it (--consistency)."
        yield unchecked(Step.CHECKPOINTS, "no_consistency_proof", where, what)
    elif not verify_consistency(first.size, second.size, first.root, second.root, proof):
        what = f"The log of {second.size} leaves does not continue that of {first.size}: it was rewritten, or split."
        yield mismatch(Step.CHECKPOINTS, "not_consistent", where, what)


def _witnesses(raw: bytes, trust: Trust) -> Iterator[Remark]:
    if not trust.witness_keys:
        return
    where = "log/checkpoint.note"
    try:
        check = check_note(read_note(raw), trust.witness_keys)
    except NoteError:
        return  # told with its signature
    for key in check.failed:
        yield mismatch(Step.CHECKPOINTS, "witness_signature", where, f"The cosignature of {key.name} is wrong.")
    found = {one.key.public_key for one in check.verified} - {key.public_key for key in trust.log_keys}
    if len(found) < trust.witnesses_wanted:
        what = f"{len(found)} known witnesses cosigned it; {trust.witnesses_wanted} are asked for."
        yield unchecked(Step.CHECKPOINTS, "witnesses_missing", where, what)
