"""Who has an instrument now."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from inspections.models.instrument import CheckIn, CheckOut
from shops.models.technician import Technician


@dataclass(frozen=True, slots=True)
class Holder:
    id: UUID
    initials: str
    taken_at: datetime


def open_check_out(instrument: UUID) -> Holder | None:
    """The check-out that has no check-in yet."""
    ended = CheckIn.objects.values("check_out_id")
    row = CheckOut.objects.filter(instrument_id=instrument).exclude(id__in=ended).order_by("-taken_at").first()
    if row is None:
        return None
    initials = Technician.objects.values_list("initials", flat=True).get(id=row.technician)
    return Holder(row.id, initials, row.taken_at)
