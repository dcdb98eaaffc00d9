"""Print a job's record: the PDF of the bundle that would be exported at the same moment."""

from datetime import datetime
from uuid import UUID

from jobs.printed_record.contents import CannotPrintError
from jobs.printed_record.printing import Wishes, print_bundle
from jobs.services.export_bundle import export_bundle
from shops.domain.access import Grant
from shops.domain.errors import RecordDamaged


def print_record(*, grant: Grant, job: UUID, wishes: Wishes, now: datetime) -> bytes:
    """Raises what `export_bundle` raises, and RecordDamaged where the stored record cannot be read any more."""
    try:
        return print_bundle(export_bundle(grant=grant, job=job, now=now), wishes)
    except CannotPrintError as error:
        raise RecordDamaged(str(error)) from None
