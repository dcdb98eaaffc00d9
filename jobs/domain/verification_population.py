"""Step 9, the population: whether the list that was drawn from is whole. By itself a list proves nothing of that.

- Held against a list that the auditor fetched before he named the seed: nobody can have made it for the seed.
- Held against all leaves of the log: they give the checkpoint's root, so none of them is missing, and every job that
  has an entry is named by the row of its first one. What a row does not say (a carrier, a state) cannot be compared.

Example: the log has the first entry of a job of May, the sample is of all jobs, and the list has it not.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import orjson

from jobs.domain import bundle_selection as selection
from jobs.domain.checkpoint import read_checkpoint_text
from jobs.domain.merkle import leaf_hash, root_of
from jobs.domain.signed_note import read_note
from jobs.domain.verification_finding import Remark, Step, mismatch, note, unchecked
from jobs.domain.verification_sample import Inner, is_between

_WHERE: Final = selection.POPULATION
_NOT_IN_ROWS: Final = frozenset({"carrier", "state"})


@dataclass(frozen=True, slots=True)
class Beside:
    """What the auditor has beside the file: a population of before, and what the log's leaves are over, in order."""

    population: Sequence[str] | None = None
    leaves: Sequence[bytes] | None = None


def population_remarks(
    chosen: Mapping[str, Any], population: Sequence[str], inners: Sequence[Inner], beside: Beside
) -> Iterator[Remark]:
    if beside.population is not None:
        yield from _kept(chosen, set(population), beside.population)
    if beside.leaves is not None:
        yield from _against_log(chosen, set(population), inners, beside.leaves)
    if chosen["kind"] == selection.SelectionKind.SAMPLE and beside == Beside():
        what = (
            f"That these {len(population)} jobs are all is the record's word. Compare with a list from before the seed "
            "was named (--population), or with all leaves of the log (--leaves)."
        )
        yield unchecked(Step.SELECTION, "population_believed", _WHERE, what)


def _kept(chosen: Mapping[str, Any], known: set[str], kept: Sequence[str]) -> Iterator[Remark]:
    gone = sorted(set(kept) - known)
    if not gone:
        return
    what = f"{len(gone)} jobs of the kept list are not in it, {gone[0]} first."
    if "state" in chosen["filters"]:
        yield unchecked(Step.SELECTION, "population_moved", _WHERE, f"{what} Their state may have changed since.")
    else:
        yield mismatch(Step.SELECTION, "population_shrunk", _WHERE, what)


def _against_log(
    chosen: Mapping[str, Any], known: set[str], inners: Sequence[Inner], leaves: Sequence[bytes]
) -> Iterator[Remark]:
    raw = next((inner.checkpoint for inner in inners if inner.checkpoint is not None), None)
    if raw is None:
        yield unchecked(
            Step.SELECTION, "no_checkpoint", _WHERE, "No bundle here has a checkpoint to hold leaves against."
        )
        return
    checkpoint = read_checkpoint_text(read_note(raw).text)
    if len(leaves) < checkpoint.size:
        what = f"{len(leaves)} leaves are given; the checkpoint is over {checkpoint.size}."
        yield unchecked(Step.SELECTION, "leaves_missing", _WHERE, what)
        return
    under = leaves[: checkpoint.size]
    if root_of(leaf_hash(leaf) for leaf in under) != checkpoint.root:
        yield mismatch(Step.SELECTION, "leaves_differ", _WHERE, "The leaves do not give the checkpoint's root.")
        return
    if _NOT_IN_ROWS & chosen["filters"].keys() or chosen["scope"]:
        what = "The log's rows do not say carrier or state, nor what the token reaches."
        yield unchecked(Step.SELECTION, "population_not_comparable", _WHERE, what)
        return
    missing = sorted(_jobs_in_log(chosen, under) - known)
    for job in missing:
        yield mismatch(Step.SELECTION, "population_incomplete", _WHERE, f"The log has entries of job {job}.")
    if not missing:
        what = f"Every job that fits and has an entry among the log's {checkpoint.size} leaves is in it."
        yield note(Step.SELECTION, "population_whole", _WHERE, what)


def _jobs_in_log(chosen: Mapping[str, Any], leaves: Sequence[bytes]) -> set[str]:
    """The jobs that a row shows to be asked for: by unit, by the shop of all its entries, by its first entry's time."""
    filters, found, others = chosen["filters"], set[str](), set[str]()
    for table, columns in _rows(leaves):
        job = columns["job_id"]
        if table == "transfers":
            others |= {job} if "shop" in filters else set()
        elif (filters.get("shop"), chosen.get("unit")) != (
            columns["shop_id"] if "shop" in filters else None,
            columns["unit_id"] if "unit" in chosen else None,
        ):
            others.add(job)
        elif columns["position"] == 1 and is_between(filters, columns["received_at"]):
            found.add(job)
    return found - others


def _rows(leaves: Sequence[bytes]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for leaf in leaves:
        document = orjson.loads(leaf)
        if document["table"] in {"entries", "transfers"}:
            yield document["table"], document["columns"]
