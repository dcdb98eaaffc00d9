"""Step 9, the bundles: that the draw gives these jobs, that each is what its name says, that all are of one record."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson

from jobs.domain import bundle_selection as selection
from jobs.domain.bundle_parts import BundleParts
from jobs.domain.verification_finding import Remark, Step, mismatch

Chosen = Mapping[str, Any]
"""What the manifest says of the selection."""


@dataclass(frozen=True, slots=True)
class Inner:
    """What step 9 needs of one of the bundles."""

    job: str
    manifest: Mapping[str, Any]
    checkpoint: bytes | None
    log_keys: tuple[bytes, ...]
    state: str | None
    unit: str
    unit_jobs: frozenset[str]
    first_entry_at: str | None
    digests: frozenset[str]
    elsewhere: tuple[tuple[str, str], ...]  # (job, digest) of entries that its phones signed for other jobs


def inner_of(job: str, parts: BundleParts) -> Inner:
    """Raises whatever a member of another shape makes of it."""
    receipts = [orjson.loads(sent.receipt or b"{}") for sent in parts.entries]
    return Inner(
        job=job,
        manifest=parts.manifest,
        checkpoint=parts.checkpoint,
        log_keys=tuple(line.raw for line in parts.facts.get("log_keys", ())),
        state=parts.claims.get("state"),
        unit=str(parts.register["unit"]["id"]),
        unit_jobs=frozenset(str(one["id"]) for one in parts.register["jobs"]),
        first_entry_at=receipts[0]["received_at"] if receipts else None,
        digests=frozenset(str(receipt["digest"]) for receipt in receipts),
        elsewhere=tuple((str(other), str(digest)) for made in parts.devices.values() for _, digest, other in made),
    )


def drawn_remarks(chosen: Chosen, raw: bytes, population: Sequence[str], here: Sequence[str]) -> Iterator[Remark]:
    """`raw` is the population's member, `here` are the jobs whose bundles are here."""
    where = selection.POPULATION
    if raw != selection.population_member(set(population)) or any(str(UUID(job)) != job for job in population):
        what = "It is no list of different job ids in their order, each on its line."
        yield mismatch(Step.SELECTION, "population_malformed", where, what)
    if chosen["kind"] == selection.SelectionKind.SAMPLE:
        if chosen["method"] != selection.METHOD or selection.SEED.fullmatch(chosen["seed"]) is None:
            yield mismatch(
                Step.SELECTION, "method_unknown", "manifest.json", "It was drawn in a way that is not known."
            )
            return
        drawn = selection.draw(population, chosen["seed"], int(chosen["n"]))
    elif chosen["kind"] == selection.SelectionKind.UNIT:
        drawn = list(population)
    else:
        raise ValueError("the selection is of no known kind")
    for job in sorted(set(here) - set(drawn)):
        yield mismatch(Step.SELECTION, "not_drawn", f"jobs/{job}.zip", "The draw does not give this job.")
    for job in sorted(set(drawn) - set(here)):
        yield mismatch(Step.SELECTION, "drawn_missing", f"jobs/{job}.zip", "The draw gives this job; it is not here.")


def inner_remarks(manifest: Mapping[str, Any], inner: Inner) -> Iterator[Remark]:
    where, chosen = f"jobs/{inner.job}.zip", manifest["selection"]
    if inner.manifest["job"] != inner.job:
        yield mismatch(Step.SELECTION, "other_job", where, f"It is the bundle of job {inner.manifest['job']}.")
    if any(inner.manifest[name] != manifest[name] for name in ("company", "made_at")):
        yield mismatch(
            Step.SELECTION, "other_snapshot", where, "It is of another company, or was made at another time."
        )
    if chosen["kind"] == selection.SelectionKind.UNIT and inner.unit != chosen["unit"]:
        yield mismatch(Step.SELECTION, "other_unit", where, f"Its unit is {inner.unit}.")
    if not _fits(chosen["filters"], inner):
        yield mismatch(Step.SELECTION, "outside_filters", where, "It is not of those that were asked for.")


def _fits(filters: Mapping[str, str], inner: Inner) -> bool:
    """By what a bundle shows: its state, and when its first entry came in."""
    if filters.get("state", inner.state) != inner.state:
        return False
    return is_between(filters, inner.first_entry_at)


def is_between(filters: Mapping[str, str], first_entry_at: str | None) -> bool:
    since, until = filters.get("first_entry_from"), filters.get("first_entry_to")
    if since is None and until is None:
        return True
    if first_entry_at is None:
        return False
    at = datetime.fromisoformat(first_entry_at)
    return (since is None or datetime.fromisoformat(since) <= at) and (
        until is None or at < datetime.fromisoformat(until)
    )


def together_remarks(
    manifest: Mapping[str, Any], population: Sequence[str], inners: Sequence[Inner]
) -> Iterator[Remark]:
    """What the bundles say of one another, and of jobs that the population has not."""
    logs = {(inner.checkpoint, inner.log_keys) for inner in inners}
    if len(logs) > 1:
        what = f"The bundles state {len(logs)} different checkpoints or keys of the log."
        yield mismatch(Step.SELECTION, "two_logs", "", what)
    by_job = {inner.job: inner for inner in inners}
    chosen, known = manifest["selection"], set(population)
    narrowed = bool(chosen["filters"]) or bool(chosen["scope"])
    for inner in inners:
        where = f"jobs/{inner.job}.zip"
        for job, digest in inner.elsewhere:
            if job in by_job and digest not in by_job[job].digests:
                what = f"One of its phones signed an entry for job {job}, whose bundle is here and has it not."
                yield mismatch(Step.SELECTION, "entry_withheld", where, what)
        for job in sorted(_named(chosen, inner) - known) if not narrowed else ():
            what = f"It names job {job}, which the population should have and has not."
            yield mismatch(Step.SELECTION, "population_incomplete", where, what)


def _named(chosen: Chosen, inner: Inner) -> set[str]:
    """Jobs that belong into the population: of a unit all of it, of a company all that have an entry."""
    if chosen["kind"] == selection.SelectionKind.UNIT:
        return set(inner.unit_jobs)
    return {job for job, _ in inner.elsewhere}
