"""Photos that a job's entries name, and those of them that have not arrived.

Rules, in plain sentences:

1. Where a step asks for photos, every photo that the entries name on which its credit rests has to be there before the
   job is released. (That too few are named is a finding of R118.)
2. An amendment without photos leaves those of the entry that it amends; with photos, it names them anew.
3. Files come in after the entries that name them, or before: the order does not matter.
4. A file that was lawfully deleted had arrived. But it is no photo for an entry that names it afterwards.

Example: RM strips offline and photographs the heap; his entry is in, the photo is still on his phone: the gate says so.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody, Entry
from jobs.domain.gate import Blocker

CODE: Final = "photo_not_arrived"
_CURE: Final = (
    "Let the phone send them. If they are lost, take new ones and name them in an amendment, or do the step again."
)


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
    for rests_on in dict.fromkeys((*bench.supports.get(step, ()), bench.credited[step])):
        if not bench.outcomes[rests_on].credit:
            continue  # amended: what amends it is here too
        entry = _naming(bench, rests_on)
        for digest in entry.signed.evidence:
            if digest not in seen:
                seen.add(digest)
                yield NamedFile(digest, step, entry)


def _naming(bench: Bench, entry: UUID) -> Entry:
    """The entry that names the photos: of an amendment without any, the one that it amends."""
    found = bench.entries[entry]
    while isinstance(found.body, AmendmentBody) and not found.signed.evidence and found.body.amends in bench.entries:
        found = bench.entries[found.body.amends]
    return found


def files_not_arrived(named: tuple[NamedFile, ...], arrivals: Mapping[str, Arrival]) -> tuple[NamedFile, ...]:
    return tuple(one for one in named if one.digest not in arrivals or not arrivals[one.digest].serves(one.entry))


def photo_blockers(bench: Bench, arrivals: Mapping[str, Arrival]) -> tuple[Blocker, ...]:
    """One blocker for each step whose named photos have not all arrived: how many, and on whose phone they are."""
    named = named_files(bench)
    missing: dict[str, list[NamedFile]] = {}
    for one in files_not_arrived(named, arrivals):
        missing.setdefault(one.step, []).append(one)
    return tuple(
        _blocker(bench, step, found, sum(one.step == step for one in named)) for step, found in missing.items()
    )


def _blocker(bench: Bench, step: str, missing: list[NamedFile], named: int) -> Blocker:
    phones = ", ".join(dict.fromkeys(phone_of(bench, one.entry) for one in missing))
    of, have = f"{len(missing)} of {named}", "has" if len(missing) == 1 else "have"
    what = f"Of the photos that “{bench.title(step)}” names, {of} {have} not arrived: named by {phones}."
    return Blocker(CODE, what, _CURE, step, missing[0].entry.id)


def phone_of(bench: Bench, entry: Entry) -> str:
    """The person's initials and the phone's name, as a lead knows them."""
    key = bench.facts.keys.get(entry.key)
    initials = bench.initials(entry.technician)
    return f"{initials} on {key.device}" if key is not None and key.device else initials
