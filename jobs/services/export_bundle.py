"""Export a job as a bundle: the zip with which anybody can check it, without us."""

from datetime import datetime
from uuid import UUID

from jobs.domain.bundle import BundleSource, BundleTooLargeError, write_bundle
from jobs.queries.bundle_contents import bundle_contents
from jobs.services.derive_again import derive_again
from jobs.services.read_job import read_job
from shops.domain.access import Grant
from shops.domain.errors import NotPermitted, TooLarge


def export_bundle(*, grant: Grant, job: UUID, now: datetime) -> bytes:
    """The bundle as it stands at `now`. Raises NotFound outside the caller's scope, NotPermitted, TooLarge.

    To be of one moment, it is made in a transaction that reads one snapshot.
    """
    source = bundle_source(grant=grant, job=job, now=now)
    try:
        return write_bundle(source)
    except BundleTooLargeError as error:
        raise TooLarge(str(error)) from None


def bundle_source(*, grant: Grant, job: UUID, now: datetime) -> BundleSource:
    """What goes into the bundle. Raises NotFound, NotPermitted."""
    read = read_job(grant=grant, job=job)
    require_undated(grant)
    if read.row.facts_version != read.facts.facts.version:  # what is claimed is what the facts of today give
        derive_again(company=grant.company, job=job, facts=read.facts, now=now)
        read = read_job(grant=grant, job=job)
    return bundle_contents(grant, read.row, read.bench, now)


def require_undated(grant: Grant) -> None:
    if grant.records_from or grant.records_to:
        raise NotPermitted("This token is for records between dates; a bundle is the whole job.")
