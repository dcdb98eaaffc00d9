"""Holds a unit on which a condemned casting is found when a job is opened on it."""

from datetime import datetime
from uuid import UUID

from jobs.domain.who_may_end import CONDEMNED_CASTING
from jobs.models.hold import UnitHold, UnitHoldClearing
from jobs.models.release import Condemnation
from jobs.services.raise_availability import raise_availability
from jobs.services.write_suspension import THE_RECORD
from shops.domain.access import Role
from shops.services.new_id import new_id


def hold_condemned(*, company: UUID, unit: UUID, top_plate: UUID, now: datetime) -> None:
    """The job may be opened, and its gate is closed; the unit is held until quality clears it. Once."""
    condemned = Condemnation.objects.filter(top_plate_id=top_plate).select_related("top_plate").first()
    if condemned is None:
        return
    open_holds = UnitHold.objects.filter(unit_id=unit, kind=CONDEMNED_CASTING).exclude(
        id__in=UnitHoldClearing.objects.values("hold_id")
    )
    if open_holds.exists():
        return
    on = f"{condemned.condemned_at:%Y-%m-%d}"
    UnitHold.objects.create(
        id=new_id(now),
        company_id=company,
        unit_id=unit,
        kind=CONDEMNED_CASTING,
        reason=f"The casting {condemned.top_plate.casting_serial}, condemned on {on}, is on this unit.",
        may_clear=Role.QUALITY.value,
        held_at=now,
        recorded_by=THE_RECORD,
    )
    raise_availability(company, unit)
