"""Running folds of open jobs, kept in the process so that an append derives one step and not the whole job.

A kept fold is used only if it is provably the fold of what the data base holds: same procedure, same facts
version, and the chain continues from where it stopped. Else it is thrown away and the job is folded anew.
"""

from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from uuid import UUID

from jobs.domain.facts import Facts
from jobs.domain.fold import Fold, fold
from jobs.queries.earned import said_of, stored_outcomes
from jobs.queries.job_entries import entries_after
from jobs.queries.job_rows import JobRow
from jobs.queries.procedures import procedure_of

_KEPT = 1024


@dataclass(slots=True)
class KeptFold:
    """A fold and the place in the chain up to which it has folded."""

    fold: Fold
    position: int
    chain_head: bytes
    facts_version: int
    procedure: str


_kept: OrderedDict[tuple[UUID, UUID], KeptFold] = OrderedDict()
_lock = Lock()


def take_fold(company: UUID, job: JobRow, facts: Facts) -> Fold:
    """The fold of all that is stored of `job`. The caller owns it until it gives it back with `keep_fold`."""
    with _lock:
        kept = _kept.pop((company, job.id), None)
    if kept is None or kept.procedure != job.procedure:
        return fold_to_store(company, job, facts)
    is_whole = kept.position == job.head_position and kept.chain_head == job.chain_head
    if kept.facts_version != facts.version:
        return _again(job, kept, facts) if is_whole else fold_to_store(company, job, facts)
    if is_whole or (kept.position < job.head_position and _catch_up(company, job, kept)):
        return kept.fold
    return fold_to_store(company, job, facts)


def _again(job: JobRow, kept: KeptFold, facts: Facts) -> Fold:
    """The same entries under newer facts; what has changed is what they earn now and did not earn before."""
    if job.facts_version == kept.facts_version and kept.fold.goes_on_under(facts):
        return kept.fold
    before = kept.fold.bench.outcomes
    folded = fold(procedure_of(job.procedure, job.purpose), (place.entry for place in kept.fold.ordered), facts)
    if job.facts_version == kept.facts_version:
        now = folded.bench.outcomes
        folded.bench.changed = {entry for entry, outcome in now.items() if before.get(entry) != outcome}
    return folded


def _catch_up(company: UUID, job: JobRow, kept: KeptFold) -> bool:
    entries, follows = entries_after(company, job.id, kept.position)
    if follows != kept.chain_head:
        return False
    for entry in entries:
        kept.fold.add(entry)
    kept.fold.bench.changed.clear()
    return True


def fresh_fold(company: UUID, job: JobRow, facts: Facts) -> Fold:
    """The job folded from its first entry, to be read."""
    entries, _ = entries_after(company, job.id, 0)
    return fold(procedure_of(job.procedure, job.purpose), entries, facts)


def fold_to_store(company: UUID, job: JobRow, facts: Facts) -> Fold:
    """The job folded from its first entry; what has changed is what differs from what was stored of it."""
    folded = fresh_fold(company, job, facts)
    if job.facts_version == facts.version:
        folded.bench.changed.clear()
    else:
        stored = stored_outcomes(company, job.id)
        now = folded.bench.outcomes
        folded.bench.changed = {entry for entry, outcome in now.items() if stored.get(entry) != said_of(outcome)}
    return folded


def keep_fold(company: UUID, job: UUID, kept: KeptFold) -> None:
    """Keep a fold; call it only after the transaction that it belongs to has been committed."""
    with _lock:
        _kept[(company, job)] = kept
        while len(_kept) > _KEPT:
            _kept.popitem(last=False)
