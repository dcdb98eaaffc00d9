"""Export several jobs in one file: the history of a unit, or a sample that anybody can draw again."""

from collections.abc import Iterator
from datetime import datetime
from typing import IO, Final
from uuid import UUID

from jobs.domain.bundle import EVIDENCE_LIMIT, BundleTooLargeError
from jobs.domain.bundle_selection import EVIDENCE_TOGETHER, Selection, SelectionKind, SelectionSource, write_selection
from jobs.queries.bundle_population import (
    PopulationFilter,
    jobs_of_unit,
    jobs_with_entries,
    scope_of,
    unit_is_reached,
)
from jobs.queries.log import company_slug
from jobs.services.export_bundle import export_bundle
from jobs.services.require_undated import require_undated
from shops.domain.access import Grant
from shops.domain.errors import Conflict, NotFound, TooLarge

PRINTED_TOGETHER: Final = 50
"""Of at most so many jobs each bundle has its printed record: drawing one takes longer than all the rest of it."""


def export_unit(*, grant: Grant, unit: UUID, now: datetime, file: IO[bytes]) -> None:
    """Write the bundles of all jobs of the unit that the caller reaches. Raises NotFound, NotPermitted, TooLarge.

    The caller's transaction reads one snapshot, so that all bundles are of one moment.
    """
    require_undated(grant)
    if not unit_is_reached(grant, unit):
        raise NotFound("There is no such unit.")
    selection = Selection(SelectionKind.UNIT, unit=unit, scope=scope_of(grant))
    _write(grant, selection, jobs_of_unit(grant, unit), now, file)


def export_sample(*, grant: Grant, wanted: PopulationFilter, n: int, seed: str, now: datetime, file: IO[bytes]) -> None:
    """Write the bundles of n jobs drawn from those that fit. Raises NotPermitted, TooLarge. One snapshot, as above."""
    require_undated(grant)
    selection = Selection(SelectionKind.SAMPLE, n=n, seed=seed, filters=wanted.document(), scope=scope_of(grant))
    _write(grant, selection, jobs_with_entries(grant, wanted), now, file)


def _write(grant: Grant, selection: Selection, population: list[str], now: datetime, file: IO[bytes]) -> None:
    source = SelectionSource(grant.company, company_slug(grant.company), now, selection, population)
    try:
        write_selection(file, source, _bundles(grant, source.drawn(), now))
    except BundleTooLargeError as error:
        raise TooLarge(str(error)) from None


def _bundles(grant: Grant, jobs: list[str], now: datetime) -> Iterator[tuple[str, bytes]]:
    room = min(EVIDENCE_LIMIT, EVIDENCE_TOGETHER // max(len(jobs), 1))
    for job in jobs:
        yield job, _bundle(grant, UUID(job), now, room, is_printed=len(jobs) <= PRINTED_TOGETHER)


def _bundle(grant: Grant, job: UUID, now: datetime, room: int, *, is_printed: bool) -> bytes:
    """A job whose record cannot be drawn stands in nobody's way: what is wrong with it, verifying says."""
    try:
        return export_bundle(grant=grant, job=job, now=now, room=room, is_printed=is_printed)
    except Conflict:
        return export_bundle(grant=grant, job=job, now=now, room=room)
