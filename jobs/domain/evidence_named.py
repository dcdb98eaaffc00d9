"""Photos that a job's entries name: which steps name too few, and which of those named have not arrived.

Rules, in plain sentences:

1. Where a step asks for photos, the entries on which its credit rests name as many, each counted once, and every one
   that they name has to be there before the job is released. A step that was not applicable asks for none.
2. An amendment without photos leaves those of the entry that it amends; with photos, it names them anew.
3. Files come in after the entries that name them, or before: the order does not matter.
4. A file that was lawfully deleted had arrived. But it is no photo for an entry that names it afterwards.

Example: RM strips offline and photographs the heap; his entry is in, the photo is still on his phone: the gate says so.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody, Entry
from jobs.domain.procedure import Step


@dataclass(frozen=True, slots=True)
class NamedFile:
    """A file that an entry names, by its SHA-256 (hex), for a step that asks for photos."""

    digest: str
    step: str
    entry: Entry


@dataclass(frozen=True, slots=True)
class Arrival:
    """When a file came in, and when it was decided to delete it."""

    received_at: datetime
    deleted_at: datetime | None = None

    def serves(self, entry: Entry) -> bool:
        """Whether the file was there for `entry`."""
        return self.deleted_at is None or entry.received_at < self.deleted_at


def named_files(bench: Bench) -> tuple[NamedFile, ...]:
    """The files that have to arrive, in the order of the steps; each once a step."""
    return tuple(
        found
        for step in bench.procedure.steps
        if step.photos and step.key in bench.credited
        for found in _of_step(bench, step.key)
    )


def _of_step(bench: Bench, step: str) -> Iterator[NamedFile]:
    seen: set[str] = set()
    for rests_on in rests_on_entries(bench, step):
        entry = naming_entry(bench, rests_on)
        for digest in entry.signed.evidence:
            if digest not in seen:
                seen.add(digest)
                yield NamedFile(digest, step, entry)


def rests_on_entries(bench: Bench, step: str) -> list[Entry]:
    """The entries on which the step's credit rests; of one that was amended, what amends it."""
    found = dict.fromkeys((bench.credited[step], *bench.supports.get(step, ())))
    return [bench.entries[entry] for entry in found if bench.outcomes[entry].credit]


def naming_entry(bench: Bench, entry: Entry) -> Entry:
    """The entry that names the photos: of an amendment without any, the one that it amends."""
    found = entry
    while isinstance(found.body, AmendmentBody) and not found.signed.evidence and found.body.amends in bench.entries:
        found = bench.entries[found.body.amends]
    return found


@dataclass(frozen=True, slots=True)
class TooFew:
    """A step with credit that names fewer photos than it asks for; `entry` is the one to amend."""

    step: Step
    named: int
    entry: UUID


def too_few_named(bench: Bench, step: Step) -> TooFew | None:
    """What of the step's photos is not even named; None without credit, and where it was not applicable."""
    done = bench.performed.get(step.key)
    if not step.photos or step.key not in bench.credited or (done is not None and done.not_applicable):
        return None
    named = sum(1 for _ in _of_step(bench, step.key))
    return TooFew(step, named, rests_on_entries(bench, step.key)[-1].id) if named < step.photos else None


def files_not_arrived(named: tuple[NamedFile, ...], arrivals: Mapping[str, Arrival]) -> tuple[NamedFile, ...]:
    return tuple(one for one in named if one.digest not in arrivals or not arrivals[one.digest].serves(one.entry))
