"""Step 8: the record's own conclusions, drawn again from the bytes: measurements, credit, gate, availability.

The same pure fold runs here and on the server (`jobs.domain.fold.derive_state`), over the entries as signed and the
facts of the rows. Compared are

1. credit and findings of every entry,
2. the reading that governs each characteristic: its value, exactly, and its verdict,
3. the gate at the release: the release's entry has credit, which it only has over an open gate, with as many photos
   named as the steps ask for; its signer's device and every other that held a claim had said so; the casting was not
   condemned; no offer to another shop was open; the photos that the entries name for these steps had arrived,
4. that a release which does not hold is suspended or revoked on record,
5. that a follow-up which is called completed was: all credit, and its photos named and arrived, or what came after it
   has suspended the release,
6. whether the unit may go, at the time at which the bundle was made.

Example: a reading of 0.238 in changed to 0.228 on the server passes there; recomputed from the signed bytes it fails.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import orjson

from jobs.domain.bundle_availability import availability_of
from jobs.domain.bundle_claims import availability_document, outcome_documents, reading_documents
from jobs.domain.bundle_facts import evidence_arrivals, facts_of, procedure_for
from jobs.domain.bundle_parts import BundleParts, Row
from jobs.domain.ends import is_followed_up
from jobs.domain.entry import Entry, EntryKind
from jobs.domain.evidence_named import files_not_arrived, named_files
from jobs.domain.fold import Fold, fold
from jobs.domain.gate import unmet_by_the_record
from jobs.domain.verification_entries import KeyFact, ReadEntry
from jobs.domain.verification_finding import Remark, Step, mismatch, unchecked

_EACH_WAY: Final = (("first", "second"), ("second", "first"))
UNDERMINED: Final = "undermined"  # the code of a suspension that the record wrote when late entries closed the gate


def recomputation_remarks(
    parts: BundleParts, entries: list[ReadEntry], keys: Mapping[str, KeyFact]
) -> Iterator[Remark]:
    opening = orjson.loads(parts.opening)
    if opening["procedure"] not in parts.procedures:
        what = "Without the procedure nothing can be judged."
        yield unchecked(Step.RECOMPUTATION, "procedure_missing", "opening.json", what)
        return
    if not parts.claims:
        yield unchecked(Step.RECOMPUTATION, "claims_missing", "claims.json", "There is nothing to compare with.")
        return
    yield from _availability_remarks(parts)
    unknown = [entry.name for entry in entries if entry.jws.kid not in keys]
    if unknown:
        what = f"Without the keys of {len(unknown)} entries nothing can be judged."
        yield unchecked(Step.RECOMPUTATION, "keys_missing", unknown[0], what)
        return
    facts = facts_of(parts)
    procedure = procedure_for(facts.procedures[opening["procedure"]], opening["purpose"])
    folded = fold(procedure, _entries(entries, keys), facts)
    yield from _fork_remarks(parts, entries)
    yield from _outcome_remarks(parts, entries, folded)
    yield from _reading_remarks(parts, folded)
    yield from _gate_remarks(parts, entries, folded)
    yield from _follow_up_remarks(parts, folded)
    yield from _withdrawal_remarks(parts)


def _fork_remarks(parts: BundleParts, entries: list[ReadEntry]) -> Iterator[Remark]:
    """A row of a fork names an entry here by its phone and number, and a job on which the phone signed it again."""
    here = {entry.id: entry for entry in entries}
    for row, one, other in ((row, *pair) for row in parts.rows("device_forks") for pair in _EACH_WAY):
        entry = here.get(row[f"{one}_id"])
        if entry is not None:
            key, number = entry.jws.kid, entry.signed.device_seq
            jobs = {job for at, _, job in parts.devices.get(key, ()) if at == number}
            if (row["key"], row["number"]) != (key, number) or row[f"{other}_job_id"] not in jobs:
                what = f"The record tells of a fork at number {number} of its device that is not there."
                yield mismatch(Step.RECOMPUTATION, "fork_made_up", entry.name, what)


def _entries(entries: list[ReadEntry], keys: Mapping[str, KeyFact]) -> list[Entry]:
    return [
        Entry(
            entry.signed,
            entry.jws.kid,
            UUID(keys[entry.jws.kid].row["technician_id"]),
            datetime.fromisoformat(entry.receipt["received_at"]),
            entry.receipt["skew_ms"],
            entry.jws.digest.hex(),
        )
        for entry in entries
    ]


def _outcome_remarks(parts: BundleParts, entries: list[ReadEntry], folded: Fold) -> Iterator[Remark]:
    claimed, derived = parts.claims["outcomes"], outcome_documents(folded.bench.outcomes)
    names = {entry.id: entry.name for entry in entries}
    for entry in sorted(claimed.keys() | derived.keys(), key=lambda found: names.get(found, found)):
        where, said, found = names.get(entry, f"entry {entry}"), claimed.get(entry), derived.get(entry)
        if said is None or found is None:
            what = "The record says nothing of it." if said is None else "The record judges an entry that is not here."
            yield mismatch(Step.RECOMPUTATION, "outcome_missing", where, what)
        elif said["credit"] != found["credit"]:
            what = f"The record gives it {_credit(said)}, recomputed it has {_credit(found)}: {_reasons(said, found)}."
            yield mismatch(Step.RECOMPUTATION, "credit", where, what)
        elif said != found:
            yield mismatch(Step.RECOMPUTATION, "findings", where, f"Other findings: {_reasons(said, found)}.")


def _credit(outcome: Mapping[str, Any]) -> str:
    return "credit" if outcome["credit"] else "no credit"


def _reasons(said: Mapping[str, Any], found: Mapping[str, Any]) -> str:
    codes = [", ".join(finding["code"] for finding in one["findings"]) or "none" for one in (said, found)]
    return f"it names the findings {codes[0]}; recomputed are {codes[1]}"


def _reading_remarks(parts: BundleParts, folded: Fold) -> Iterator[Remark]:
    claimed = {(one["step"], one["characteristic"]): one for one in parts.claims["readings"]}
    derived = {(one["step"], one["characteristic"]): one for one in reading_documents(folded.bench)}
    for at in sorted(claimed.keys() | derived.keys()):
        said, found = claimed.get(at), derived.get(at)
        if said != found:
            what = f"The record says {_verdict(said)}, recomputed it is {_verdict(found)}."
            yield mismatch(Step.RECOMPUTATION, "reading", f"{at[0]} {at[1]}", what)


def _verdict(reading: Mapping[str, Any] | None) -> str:
    return "that it was not read" if reading is None else f"{reading['value']}, {reading['verdict']}"


def _gate_remarks(parts: BundleParts, entries: list[ReadEntry], folded: Fold) -> Iterator[Remark]:
    releases = {row["entry_id"]: row for row in parts.rows("releases") if row["job_id"] == str(parts.job)}
    names = {entry.id: entry for entry in entries if entry.signed.kind is EntryKind.RELEASE}
    if (parts.claims["state"] == "released") != bool(releases):
        what = f"The record calls the job {parts.claims['state']}, with {len(releases)} releases."
        yield mismatch(Step.RECOMPUTATION, "state", "claims.json", what)
    for identifier, row in releases.items():
        entry = names.get(identifier)
        if entry is None:
            yield mismatch(Step.RECOMPUTATION, "release_unsigned", f"releases {row['id']}", "No signed entry releases.")
            continue
        if _is_stopped(parts, row["id"]):
            continue
        outcome = folded.bench.outcomes.get(entry.signed.id)
        if outcome is None or not outcome.credit:
            why = "; ".join(finding.what for finding in outcome.findings) if outcome else "its key is not here"
            yield mismatch(Step.RECOMPUTATION, "gate_closed", entry.name, f"The gate was closed: {why}")
        at = entry.receipt["received_at"]
        for what in (*_outside(parts, at, row), *_photos(parts, at, folded)):
            yield mismatch(Step.RECOMPUTATION, "gate_closed", entry.name, what)


def _follow_up_remarks(parts: BundleParts, folded: Fold) -> Iterator[Remark]:
    completions = [row for row in parts.rows("follow_up_completions") if row["job_id"] == str(parts.job)]
    if (parts.claims["state"] == "completed") != bool(completions):
        what = f"The record calls the job {parts.claims['state']}, with {len(completions)} completions."
        yield mismatch(Step.RECOMPUTATION, "state", "claims.json", what)
    for row in completions:
        if _was_stopped_since(parts, row["release_id"], row["completed_at"]):
            continue
        where = f"follow_up_completions {row['id']}"
        if not is_followed_up(folded.bench):
            why = " ".join(found.what for found in unmet_by_the_record(folded.bench))
            yield mismatch(Step.RECOMPUTATION, "follow_up_incomplete", where, f"It was not complete. {why}")
        for what in _photos(parts, row["completed_at"], folded):
            yield mismatch(Step.RECOMPUTATION, "follow_up_incomplete", where, what)


def _withdrawal_remarks(parts: BundleParts) -> Iterator[Remark]:
    """A withdrawal closes a job for as long as nothing was done on it."""
    withdrawn = any(row["job_id"] == str(parts.job) for row in parts.rows("job_withdrawals"))
    if (parts.claims["state"] == "abandoned") != (withdrawn and not parts.entries):
        what = f"The record calls the job {parts.claims['state']}, with {len(parts.entries)} entries" + (
            " and a withdrawal." if withdrawn else " and no withdrawal."
        )
        yield mismatch(Step.RECOMPUTATION, "state", "claims.json", what)


def _was_stopped_since(parts: BundleParts, release: str, at: str) -> bool:
    """Whether the record stopped the release at `at` or later: whatever undoes a completed follow-up does."""
    lifted = {row["suspension_id"]: row["lifted_at"] for row in parts.rows("suspension_liftings")}
    stopped = [row for row in parts.rows("release_suspensions") if lifted.get(row["id"], at) >= at]
    return any(row["release_id"] == release for row in (*stopped, *parts.rows("release_revocations")))


def _is_stopped(parts: BundleParts, release: str) -> bool:
    """Whether the record itself says that the release does not hold, or did not once late entries had come in."""
    lifted = {row["suspension_id"] for row in parts.rows("suspension_liftings")}
    stands = [row for row in parts.rows("release_suspensions") if row["id"] not in lifted or row["code"] == UNDERMINED]
    return any(row["release_id"] == release for row in (*stands, *parts.rows("release_revocations")))


def _outside(parts: BundleParts, at: str, release: Row) -> Iterator[str]:
    """What stood against the release at `at` (RFC 3339 in UTC, always spelt alike) and is in no entry."""
    ended = {row["claim_id"] for row in parts.rows("claim_ends") if row["ended_at"] <= at}
    lost = {row["key_id"] for row in parts.rows("key_revocations")}
    revoked = {row["thumbprint"] for row in parts.rows("device_keys") if row["id"] in lost}
    for claim in parts.rows("claims"):
        if claim["claimed_at"] <= at and claim["id"] not in ended and claim["key"] not in revoked:
            yield f"Device {claim['key']} held a claim on the job that had not ended."
    answered = {row["transfer_id"] for row in parts.rows("transfer_answers") if row["answered_at"] <= at}
    for offer in parts.rows("transfers"):
        if offer["offered_at"] <= at and offer["id"] not in answered:
            yield "An offer of the job to another shop was open."
    plate = orjson.loads(parts.opening)["top_plate"]
    for row in parts.rows("condemnations"):
        if row["top_plate_id"] == plate and row["condemned_at"] <= at:
            yield "The casting was condemned."
    verified = {row["id"] for row in parts.rows("verification_outcomes") if row["passed"]}
    if release["verification_id"] not in verified:
        yield "Its verification is not on record as passed."


def _photos(parts: BundleParts, at: str, folded: Fold) -> Iterator[str]:
    """Photos that had not arrived at the release or completion. What came in after it was not asked for then."""
    then = datetime.fromisoformat(at)
    arrivals = {digest: one for digest, one in evidence_arrivals(parts).items() if one.received_at <= then}
    for one in files_not_arrived(named_files(folded.bench), arrivals):
        if one.entry.received_at <= then:
            yield f"The photo {one.digest}, which “{folded.bench.title(one.step)}” names, had not arrived."


def _availability_remarks(parts: BundleParts) -> Iterator[Remark]:
    claimed = parts.claims["availability"]
    at = datetime.fromisoformat(parts.manifest["made_at"])
    found = availability_document(availability_of(parts, at), at)
    if found != claimed:
        what = (
            f"The record says {claimed['state']} ({', '.join(claimed['reasons']) or 'no reason'}), recomputed it is "
            f"{found['state']} ({', '.join(found['reasons']) or 'no reason'})."
        )
        yield mismatch(Step.RECOMPUTATION, "availability", f"unit {claimed['unit']}", what)
