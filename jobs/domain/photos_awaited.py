"""Gate blockers for photos that were named and have not arrived.

Example: RM strips offline and photographs the heap; his entry is in, the photo is still on his phone: the gate says so.
"""

from collections.abc import Mapping
from typing import Final

from jobs.domain.bench import Bench
from jobs.domain.entry import Entry
from jobs.domain.evidence_named import Arrival, NamedFile, files_not_arrived, named_files
from jobs.domain.gate import Blocker

CODE: Final = "photo_not_arrived"
_CURE: Final = (
    "Let the phone send them. If they are lost, take new ones and name them in an amendment, or do the step again."
)


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
    phones = ", ".join(dict.fromkeys(_phone_of(bench, one.entry) for one in missing))
    of, have = f"{len(missing)} of {named}", "has" if len(missing) == 1 else "have"
    what = f"Of the photos that “{bench.title(step)}” names, {of} {have} not arrived: named by {phones}."
    return Blocker(CODE, what, _CURE, step, missing[0].entry.id)


def _phone_of(bench: Bench, entry: Entry) -> str:
    """The person's initials and the phone's name, as a lead knows them."""
    key = bench.facts.keys.get(entry.key)
    initials = bench.initials(entry.technician)
    return f"{initials} on {key.device}" if key is not None and key.device else initials
