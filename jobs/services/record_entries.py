"""Record signed entries: verify, place in the chain, derive what they earn, store. One transaction.

An entry that cannot be trusted as an entry is refused and leaves nothing; one that can is stored, with credit or
without. Jobs are locked in the order of their ids, so that two batches never wait for each other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from jobs.domain.act_order import corrected_time
from jobs.domain.bench import Bench, Outcome
from jobs.domain.ends import ends_of
from jobs.domain.entry import Entry
from jobs.domain.fold import Fold
from jobs.domain.remembered import Ends
from jobs.queries.company_facts import CompanyFacts, company_facts
from jobs.queries.earned import as_it_stood
from jobs.queries.folds import KeptFold, keep_fold, take_fold
from jobs.queries.job_entries import stored_entries
from jobs.queries.job_rows import JobRow, StoredEntry, locked_job, locked_job_for
from jobs.queries.transfers import last_reached
from jobs.services.follow_through import follow_through, state_after
from jobs.services.note_replays import note_replays
from jobs.services.receive_entry import ReceivedEntry, receive_entry, refuse_unknown_step, skew_of
from jobs.services.reopen_job import reopen_job
from jobs.services.write_entries import Written, receipts, write_entries
from shops.domain.access import Grant
from shops.domain.errors import AlreadyExists, JobAlreadyOpen, NotFound, Refusal


@dataclass(frozen=True, slots=True)
class Recorded:
    """An entry in the record: its place, and what it earns now."""

    entry: UUID
    job: UUID
    position: int
    received_at: datetime
    previous: bytes
    leaf: bytes
    outcome: Outcome
    is_new: bool


def record_entry(*, grant: Grant, token: bytes, device_time: datetime | None, now: datetime) -> Recorded:
    """Record one entry; raises a Refusal if it cannot be trusted as one."""
    result = record_entries(grant=grant, tokens=[token], device_time=device_time, now=now)[0]
    if isinstance(result, Refusal):
        raise result
    return result


def record_entries(
    *, grant: Grant, tokens: Sequence[bytes], device_time: datetime | None, now: datetime
) -> list[Recorded | Refusal]:
    """Record many entries, of whatever jobs: a result for each, in their order. One that fails harms no other."""
    facts = company_facts(grant.company, grant.facts_version)
    skew = skew_of(device_time, now)
    results: list[Recorded | Refusal | None] = [None] * len(tokens)
    by_job: dict[UUID, list[tuple[int, ReceivedEntry]]] = {}
    for at, token in enumerate(tokens):
        received = _receive(token, facts, skew, now)
        if isinstance(received, Refusal):
            results[at] = received
        else:
            by_job.setdefault(received.entry.signed.job, []).append((at, received))
    for job in sorted(by_job):
        numbered = by_job[job]
        recorded = _record_on_job(grant, job, [received for _, received in numbered], facts, now)
        for (at, _), result in zip(numbered, recorded, strict=True):
            results[at] = result
    return [result for result in results if result is not None]


def _receive(token: bytes, facts: CompanyFacts, skew: timedelta, now: datetime) -> ReceivedEntry | Refusal:
    try:
        return receive_entry(token, facts, skew=skew, now=now, releases=False)
    except Refusal as refusal:
        return refusal


def _record_on_job(
    grant: Grant, job_id: UUID, received: list[ReceivedEntry], facts: CompanyFacts, now: datetime
) -> list[Recorded | Refusal]:
    job, stored = _locked(grant.company, job_id, [one.entry.id for one in received])
    until = last_reached(grant, job) if job is not None else None
    if job is None or until is None:
        return [NotFound("There is no such job.") for _ in received]
    folded = take_fold(grant.company, job, facts.facts)
    fresh: dict[UUID, ReceivedEntry] = {}
    refused: dict[int, Refusal] = {}
    for at, one in enumerate(received):
        is_reached = corrected_time(one.entry) <= until
        refusal = _refusal(one, stored, fresh, folded) if is_reached else NotFound("There is no such job.")
        if refusal is not None:
            refused[at] = refusal
        elif one.entry.id not in stored:
            fresh[one.entry.id] = one
    if fresh and job.state == "abandoned":
        try:
            job = reopen_job(company=grant.company, job=job)
        except JobAlreadyOpen as refusal:
            refused |= {at: refusal for at, one in enumerate(received) if one.entry.id in fresh}
            fresh.clear()
    if stored:
        _note_replays(grant, [one.entry for at, one in enumerate(received) if at not in refused], stored, now)
    written = {one.receipt.entry: one for one in store_on_job(grant, job, folded, list(fresh.values()), facts, now)}
    return [refused.get(at) or _recorded(one.entry.id, job, folded, written, stored) for at, one in enumerate(received)]


def _note_replays(grant: Grant, sent: list[Entry], stored: dict[UUID, StoredEntry], now: datetime) -> None:
    """A phone that did not hear the answer sends again; nobody else has reason to."""
    if grant.technician is not None:
        others = [entry.id for entry in sent if entry.id in stored and entry.technician != grant.technician]
        if others:
            note_replays(grant=grant, entries=others, now=now)


def _locked(company: UUID, job: UUID, entries: list[UUID]) -> tuple[JobRow | None, dict[UUID, StoredEntry]]:
    """The job, locked, and which of the entries are in the record already."""
    if len(entries) == 1:
        row, twin = locked_job_for(company, job, entries[0])
        return row, {} if twin is None else {twin.id: twin}
    return locked_job(company, job), stored_entries(company, entries)


def _refusal(
    one: ReceivedEntry,
    stored: dict[UUID, StoredEntry],
    fresh: dict[UUID, ReceivedEntry],
    folded: Fold,
) -> Refusal | None:
    twin = stored.get(one.entry.id)
    digest = twin.digest if twin else fresh[one.entry.id].jws.digest if one.entry.id in fresh else one.jws.digest
    if digest != one.jws.digest:
        return AlreadyExists("An entry with this id but other content is in the record.")
    try:
        refuse_unknown_step(one.entry.signed, folded)
    except Refusal as refusal:
        return refusal
    return None


def store_on_job(
    grant: Grant,
    job: JobRow,
    folded: Fold,
    fresh: list[ReceivedEntry],
    facts: CompanyFacts,
    now: datetime,
    state: str | None = None,
) -> list[Written]:
    """Fold `fresh` into the locked job and store them with everything that follows from them."""
    written = receipts(job, fresh, now)
    facts_are_new = job.facts_version != facts.facts.version
    before = _ends_before(grant.company, job, folded.bench, facts_are_new)
    for one in fresh:
        folded.add(one.entry)
    bench = folded.bench
    state = state or state_after(grant.company, job, bench)
    if written or bench.changed or facts_are_new or state != job.state:
        write_entries(
            grant.company,
            job,
            written=written,
            outcomes=[(entry, bench.outcomes[entry]) for entry in bench.changed],
            facts_version=facts.facts.version,
            summary=bench.summary(),
            state=state,
            now=now,
        )
    follow_through(grant, job, bench, before, now, state=state, facts_are_new=facts_are_new)
    bench.changed.clear()
    kept = KeptFold(
        folded,
        written[-1].receipt.position if written else job.head_position,
        written[-1].leaf if written else job.chain_head,
        facts.facts.version,
        job.procedure,
    )
    transaction.on_commit(lambda: keep_fold(grant.company, job.id, kept))
    return written


def _ends_before(company: UUID, job: JobRow, bench: Bench, facts_are_new: bool) -> Ends:
    before = ends_of(bench)
    if facts_are_new and job.state in ("released", "completed"):
        return as_it_stood(company, job.id, bench, before)
    return before


def _recorded(
    entry: UUID, job: JobRow, folded: Fold, written: dict[UUID, Written], stored: dict[UUID, StoredEntry]
) -> Recorded:
    if entry in written:
        receipt, outcome = written[entry].receipt, folded.bench.outcomes[entry]
        return Recorded(
            entry,
            job.id,
            receipt.position,
            receipt.received_at,
            receipt.previous,
            written[entry].leaf,
            outcome,
            True,
        )
    return recorded_again(stored[entry], folded)


def recorded_again(place: StoredEntry, folded: Fold) -> Recorded:
    """An entry that was in the record before: its receipt as it was, its credit as it is now."""
    outcome = folded.bench.outcomes[place.id]
    return Recorded(place.id, place.job, place.position, place.received_at, place.previous, place.leaf, outcome, False)
