"""Export a job as a bundle: the zip with which anybody can check it, without us."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from jobs.domain.bundle import EVIDENCE_LIMIT, BundleSource, BundleTooLargeError, write_bundle
from jobs.printed_record.contents import CannotPrintError
from jobs.printed_record.printing import Wishes, print_members
from jobs.queries.bundle_contents import bundle_contents
from jobs.services.derive_again import derive_again
from jobs.services.read_job import read_job
from shops.domain.access import Grant
from shops.domain.errors import RecordDamaged, TooLarge


def export_bundle(
    *, grant: Grant, job: UUID, now: datetime, room: int = EVIDENCE_LIMIT, is_printed: bool = False
) -> bytes:
    """The bundle as it stands at `now`, with `room` bytes for photos, and with its printed record where it is wanted.

    To be of one moment, it is made in a transaction that reads one snapshot. Raises NotFound outside the caller's
    scope, NotPermitted, TooLarge, and RecordDamaged where the stored record cannot be read to be printed.
    """
    source = _source(grant, job, now, room)
    try:
        return write_bundle(source, _draw if is_printed else None)
    except BundleTooLargeError as error:
        raise TooLarge(str(error)) from None


def _draw(manifest: Mapping[str, Any], members: Mapping[str, bytes]) -> bytes:
    try:
        return print_members(manifest, members, Wishes())
    except CannotPrintError as error:
        raise RecordDamaged(str(error)) from None


def _source(grant: Grant, job: UUID, now: datetime, room: int) -> BundleSource:
    read = read_job(grant=grant, job=job)
    if read.row.facts_version != read.facts.facts.version:  # what is claimed is what the facts of today give
        derive_again(company=grant.company, job=job, facts=read.facts, now=now)
        read = read_job(grant=grant, job=job)
    return bundle_contents(grant, read.row, read.bench, now, room)
