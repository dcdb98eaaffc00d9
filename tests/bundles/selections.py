"""Several bundles in one file, of the museum's world: a unit's history and a sample, and ways to break them.

The unit was rebuilt and released; two more jobs on it were begun a day later, by the same phones. All is in one log.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta
from functools import cache
from io import BytesIO
from typing import Any
from uuid import UUID

from jobs.domain.bundle import MANIFEST, BundleSource, write_bundle, write_zip
from jobs.domain.bundle_selection import (
    POPULATION,
    Selection,
    SelectionKind,
    SelectionSource,
    population_member,
    selection_manifest,
    write_selection,
)
from jobs.domain.receipt import utc_text
from tests.acts import PR_11
from tests.bundles import breaking, containers
from tests.bundles.world import RELEASE, logged_source, opening_of, send, with_claims
from tests.bundles.world_rows import (
    COMPANY,
    JOB,
    MADE,
    PEOPLE,
    SLUG,
    START,
    UNIT,
    Device,
    Rows,
    entry_row,
    identifier,
    job_rows,
    register_document,
    registered,
)

SECOND, THIRD = identifier("second job"), identifier("third job")
JOBS = (JOB, SECOND, THIRD)
SEED = "dice 4 1 6"
SAMPLE = Selection(SelectionKind.SAMPLE, n=2, seed=SEED)
HISTORY = Selection(SelectionKind.UNIT, unit=UNIT)
_OF_ONE_JOB = frozenset({"entries", "claims", "claim_ends", "verification_outcomes", "kits", "kit_movements"})
Bundles = dict[str, bytes]


@cache
def sources(fillers: str = "filler") -> dict[UUID, BundleSource]:
    """The three jobs, in one log."""
    devices = {who: Device(f"{who}'s phone") for who in PEOPLE}
    openings = {job: opening_of(job, START + timedelta(hours=20 * at)) for at, job in enumerate(JOBS)}
    sent = {JOB: send(openings[JOB], [*PR_11, RELEASE], devices)}
    sent |= {job: send(openings[job], PR_11[: 2 + at], devices) for at, job in enumerate(JOBS[1:])}
    shared = registered(lambda who: f"{who}'s phone")
    own: dict[UUID, Rows] = {JOB: [one for one in shared if one[0] in _OF_ONE_JOB] + job_rows(*sent[JOB])}
    for job in JOBS[1:]:
        own[job] = [("entries", entry_row(*pair)) for pair in zip(*sent[job], strict=True)]
    rows = [*(one for one in shared if one[0] not in _OF_ONE_JOB), *(one for job in JOBS for one in own[job])]
    return {job: _source(job, openings, sent, own, rows, fillers) for job in JOBS}


def _source(job: UUID, openings: Any, sent: Any, own: dict[UUID, Rows], rows: Rows, fillers: str) -> BundleSource:
    hidden = {(table, one["id"]) for other in JOBS if other != job for table, one in own[other] if table in _OF_ONE_JOB}

    def is_shown(table: str, one: dict[str, Any]) -> bool:
        return (table, one["id"]) not in hidden

    source = logged_source(openings[job], *sent[job], rows, "log", fillers, is_shown)
    source = replace(source, register=_register(openings), devices=_elsewhere(sent, job))
    return with_claims(source, "released" if job == JOB else "open")


def _register(openings: Any) -> dict[str, Any]:
    document = register_document()
    first = document["jobs"][0]
    opened = {job: {"id": str(job), "opened_at": utc_text(openings[job].opened_at)} for job in JOBS}
    return {
        **document,
        "jobs": [{**first, "state": "released" if job == JOB else "open", **opened[job]} for job in JOBS],
    }


def _elsewhere(sent: Any, job: UUID) -> dict[str, list[tuple[int, str, str]]]:
    """What the phones of a job signed for the other jobs up to the number of their last entry on it."""
    last: dict[str, int] = {}
    for one in sent[job][0]:
        key = one.device.jwk.thumbprint
        last[key] = max(last.get(key, 0), one.payload["device_seq"])
    found: dict[str, list[tuple[int, str, str]]] = {key: [] for key in last}
    for other in (other for other in JOBS if other != job):
        for one, receipt in zip(*sent[other], strict=True):
            key, number = one.device.jwk.thumbprint, one.payload["device_seq"]
            if number <= last.get(key, 0):
                found[key].append((number, receipt.digest.hex(), str(other)))
    return found


def population() -> list[str]:
    return sorted(map(str, JOBS))


def bundles(fillers: str = "filler") -> Bundles:
    return {str(job): write_bundle(source) for job, source in sources(fillers).items()}


def packed(selection: Selection, jobs: Sequence[str], made: Bundles, drawn: Sequence[str] | None = None) -> bytes:
    """The file of a selection from the population `jobs`; with `drawn`, of these bundles whatever the draw gives."""
    file = BytesIO()
    source = SelectionSource(COMPANY, SLUG, MADE, selection, jobs)
    write_selection(file, source, [(job, made[job]) for job in drawn or source.drawn()])
    return file.getvalue()


def sample(_good: BundleSource) -> bytes:
    return packed(SAMPLE, population(), bundles())


def history(_good: BundleSource) -> bytes:
    return packed(HISTORY, population(), bundles())


def _drawn() -> list[str]:
    return SelectionSource(COMPANY, SLUG, MADE, SAMPLE, population()).drawn()


def _left() -> str:
    """The job that the draw leaves."""
    return next(job for job in population() if job not in _drawn())


def job_swapped(_good: BundleSource) -> bytes:
    """A job that the draw does not give, instead of one that it gives."""
    return packed(SAMPLE, population(), bundles(), [_drawn()[0], _left()])


def seed_altered(_good: BundleSource) -> bytes:
    """The manifest names a seed that draws others."""
    seed = next(seed for seed in map(str, range(100)) if set(_with_seed(seed)) != set(_drawn()))
    return packed(replace(SAMPLE, seed=seed), population(), bundles(), _drawn())


def _with_seed(seed: str) -> list[str]:
    return SelectionSource(COMPANY, SLUG, MADE, replace(SAMPLE, seed=seed), population()).drawn()


def population_altered(_good: BundleSource) -> bytes:
    """A drawn job is struck off the list, and its bundle is still here."""
    return packed(SAMPLE, [job for job in population() if job != _drawn()[0]], bundles(), _drawn())


def population_cut(_good: BundleSource) -> bytes:
    """The rebuild is left out of the list before it is drawn; a phone that worked on it was drawn too."""
    return packed(SAMPLE, [job for job in population() if job != str(JOB)], bundles())


def population_shrunk(_good: BundleSource) -> bytes:
    """The last job is left out; nothing here names it but the list that the auditor kept."""
    return packed(SAMPLE, [job for job in population() if job != str(THIRD)], bundles())


def history_cut(_good: BundleSource) -> bytes:
    """A job of the unit is left out of its history."""
    return packed(HISTORY, [job for job in population() if job != str(THIRD)], bundles())


def inner_replaced(change: Callable[[BundleSource], bytes]) -> Callable[[BundleSource], bytes]:
    """The sample with the rebuild's bundle broken in one of the ways of the museum."""

    def make(_good: BundleSource) -> bytes:
        return packed(HISTORY, population(), {**bundles(), str(JOB): change(sources()[JOB])})

    return make


def two_logs(_good: BundleSource) -> bytes:
    """One of the bundles is of a log that was written for it."""
    return packed(HISTORY, population(), {**bundles(), str(THIRD): bundles("other filler")[str(THIRD)]})


def other_jobs_bundle(_good: BundleSource) -> bytes:
    """The bundle of one job under the name of another."""
    made = bundles()
    return packed(HISTORY, population(), {**made, str(SECOND): made[str(THIRD)]})


def packed_again(_good: BundleSource) -> bytes:
    """Its members are deflated: a bomb could be in a bomb."""
    source = SelectionSource(COMPANY, SLUG, MADE, HISTORY, population())
    members = {POPULATION: population_member(population())}
    members |= {f"jobs/{job}.zip": raw for job, raw in bundles().items()}
    listed = {name: breaking.listing(raw) for name, raw in members.items()}
    return write_zip({**members, MANIFEST: selection_manifest(source, listed)})


def entry_withheld(_good: BundleSource) -> bytes:
    """The second job's bundle without its last entry, which a phone's next entry on the third job names."""
    made, source = bundles(), sources()[SECOND]
    short = replace(source, entries=source.entries[:-1], rows={**source.rows, "entries": source.rows["entries"][:-1]})
    gone = source.entries[-1][1].entry
    short = with_claims(replace(short, places=[one for one in short.places if one.row != gone]), "open")
    return packed(HISTORY, population(), {**made, str(SECOND): write_bundle(short)})


digit_changed = inner_replaced(breaking.digit_changed)
bomb_inside = inner_replaced(containers.bomb)
