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
    if kept is not None and kept.facts_version == facts.version and kept.procedure == job.procedure:
        if kept.position == job.head_position and kept.chain_head == job.chain_head:
            return kept.fold
        if kept.position < job.head_position and _catch_up(company, job, kept):
            return kept.fold
    return fresh_fold(company, job, facts)


def _catch_up(company: UUID, job: JobRow, kept: KeptFold) -> bool:
    entries, follows = entries_after(company, job.id, kept.position)
    if follows != kept.chain_head:
        return False
    for entry in entries:
        kept.fold.add(entry)
    kept.fold.bench.changed.clear()
    return True


def fresh_fold(company: UUID, job: JobRow, facts: Facts) -> Fold:
    """The job folded from its first entry; what it has changed is everything, if the facts are newer."""
    entries, _ = entries_after(company, job.id, 0)
    folded = fold(procedure_of(job.procedure, job.purpose), entries, facts)
    if job.facts_version == facts.version:
        folded.bench.changed.clear()
    return folded


def keep_fold(company: UUID, job: UUID, kept: KeptFold) -> None:
    """Keep a fold; call it only after the transaction that it belongs to has been committed."""
    with _lock:
        _kept[(company, job)] = kept
        while len(_kept) > _KEPT:
            _kept.popitem(last=False)
