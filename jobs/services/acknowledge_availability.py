"""Dispatch takes note of a unit's availability, at the version that it has seen."""

from datetime import datetime
from uuid import UUID

from jobs.models.release import Acknowledgement
from jobs.queries.availability import read_units
from shops.domain.access import Grant
from shops.domain.errors import AvailabilityMoved, NotFound
from shops.models.unit import Unit
from shops.services.create_once import Created, Taken, create_once

TAKEN = {
    "acknowledgements_once": Taken(
        "/availability_version", "This version has been acknowledged already, under another id.", "Nothing is left."
    )
}
_CONTENT = ("unit_id", "availability_version")


def acknowledge_availability(
    *, grant: Grant, identifier: UUID, unit: UUID, version: int, now: datetime
) -> Created[Acknowledgement]:
    """Raises NotFound; AvailabilityMoved, naming the current version, for any other version than that.

    The unit is locked, so that its version does not move between the look and the row. Sent again, an
    acknowledgement is answered as it was, whatever the version is by now.
    """
    Unit.objects.select_for_update(no_key=True).filter(id=unit).first()
    read = read_units(grant, [unit], now)[0]
    if read is None:
        raise NotFound("There is no such unit.")
    row = Acknowledgement(
        id=identifier,
        company_id=grant.company,
        unit_id=unit,
        availability_version=version,
        acknowledged_at=now,
        recorded_by=grant.by,
    )
    sent_before = Acknowledgement.objects.filter(id=identifier).exists()
    if not sent_before and version != read.facts.version:
        detail = f"The unit's availability is at version {read.facts.version}, not {version}: read it again."
        raise AvailabilityMoved(detail, members={"availability_version": read.facts.version})
    return create_once(row, content=_CONTENT, taken=TAKEN)
