"""The worker's duty to who reads the change feed: time alone has made a unit overdue, and no row said so."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from jobs.models.availability_change import AvailabilityChange
from jobs.queries.availability_changes import units_with_passed_due_times
from shops.queries.access import enter_company
from shops.services.new_id import new_id


def tell_due_times(*, company: UUID, now: datetime) -> bool:
    """Add a change for every unit that has fallen due. False: nothing more waits.

    Two workers may both tell of the same; a change told twice costs its reader one look.
    """
    with transaction.atomic():
        enter_company(company)
        AvailabilityChange.objects.bulk_create(
            AvailabilityChange(id=new_id(now), company_id=company, unit_id=unit, changed_at=now)
            for unit in units_with_passed_due_times(company, now)
        )
    return False
