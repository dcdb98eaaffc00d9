"""Takes one token in: its signature, its key, its payload and its times. Nothing is stored here."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from jobs.domain.entry import Entry, EntryKind, SignedEntry
from jobs.domain.entry_payload import read_entry
from jobs.domain.fold import Fold
from jobs.domain.payload_fields import PayloadError
from jobs.queries.company_facts import CompanyFacts
from shops.domain.errors import (
    BadEntry,
    BadInput,
    FieldProblem,
    FromTheFuture,
    KeyRevoked,
    KeyUnknown,
    SignatureInvalid,
)
from shops.domain.jws import CompactJws, JwsError, parse_payload, read_compact, verify_compact

ENTRY_TYP = "rebuild-entry+jws"
FUTURE_TOLERANCE = timedelta(minutes=2)
MOST_SKEW = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class ReceivedEntry:
    """A verified entry, with its bytes as sent."""

    token: bytes
    jws: CompactJws
    entry: Entry


def skew_of(device_time: datetime | None, now: datetime) -> timedelta:
    """The server's clock minus the device's, as the device told it while it synced."""
    if device_time is None:
        return timedelta(0)
    skew = now - device_time
    if abs(skew) > MOST_SKEW:
        detail = f"The device's clock is off by {abs(skew)}."
        raise BadInput(
            detail, problems=[FieldProblem("/device_time", detail, "Set the device's clock and sync again.")]
        )
    return skew


def receive_entry(
    token: bytes, facts: CompanyFacts, *, skew: timedelta, now: datetime, releases: bool | None = None
) -> ReceivedEntry:
    """The entry in `token`; raises BadEntry or one of its kinds if it cannot be trusted as an entry at all.

    `releases`: whether releases are taken here and nothing else, or everything but releases; None takes both.
    """
    try:
        jws = read_compact(token, typ=ENTRY_TYP)
        key = facts.jwks.get(jws.kid)
        if key is None:
            raise KeyUnknown(problems=[FieldProblem("", f"No key {jws.kid} is enrolled.", "Enrol the phone first.")])
        if not verify_compact(jws, key):
            raise SignatureInvalid
        payload = parse_payload(jws.payload)
        if releases is not None:
            _refuse_wrong_address(payload, releases=releases)
        signed = read_entry(payload)
    except JwsError as error:
        problem = FieldProblem("", f"{error.code}: {error.message}", error.cure)
        raise BadEntry(error.message, problems=[problem]) from None
    except PayloadError as error:
        raise BadEntry(problems=[FieldProblem(p.pointer, p.message, p.cure) for p in error.problems]) from None
    _check_times(signed, jws.kid, facts, skew, now)
    person = facts.facts.keys[jws.kid].technician
    milliseconds = skew // timedelta(milliseconds=1)
    return ReceivedEntry(token, jws, Entry(signed, jws.kid, person, now, milliseconds, jws.digest.hex()))


def _refuse_wrong_address(payload: Mapping[str, object], *, releases: bool) -> None:
    """What was sent to the wrong address is told so, whatever else is wrong with it."""
    is_release = payload.get("kind") == EntryKind.RELEASE.value
    if is_release and not releases:
        raise BadEntry(
            problems=[FieldProblem("/kind", "A release is a document of its own.", "Send it to /v1/releases.")]
        )
    if releases and not is_release:
        raise BadEntry(problems=[FieldProblem("/kind", "This is not a release.", "Send other entries to /v1/entries.")])


def _check_times(signed: SignedEntry, kid: str, facts: CompanyFacts, skew: timedelta, now: datetime) -> None:
    at = signed.performed_at + skew
    if at > now + FUTURE_TOLERANCE:
        detail = f"The act is dated {signed.performed_at.isoformat()}, after its arrival."
        raise FromTheFuture(
            detail,
            problems=[FieldProblem("/performed_at", detail, "Set the device's clock; send its time as Device-Time.")],
        )
    key = facts.facts.keys[kid]
    if key.revoked_from is not None and at >= key.revoked_from:
        raise KeyRevoked(problems=[FieldProblem("", "The key was revoked before the act.", "Enrol a phone anew.")])


def refuse_unknown_step(signed: SignedEntry, folded: Fold) -> None:
    """A step that the procedure which it was made under does not have is no entry on this job."""
    if not folded.has_step(signed):
        said = getattr(signed.body, "body", None) if signed.kind is EntryKind.AMENDMENT else signed.body
        step = str(getattr(said, "step", None))[:80]
        detail = f"{step!r} is not a step of the job's procedure."
        raise BadEntry(problems=[FieldProblem("/step", detail, "Read the job's steps.")])
