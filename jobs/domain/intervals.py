"""When the follow-up and the next inspection fall due by the calendar; distance is dispatch's to watch."""

from datetime import datetime, timedelta

from jobs.domain.procedure import Procedure


def follow_up_due(procedure: Procedure, released_at: datetime) -> datetime | None:
    """The day by which the follow-up is done, or None where the procedure names no number of days."""
    follow_up = procedure.follow_up
    if follow_up is None or follow_up.after_days is None:
        return None
    return released_at + timedelta(days=follow_up.after_days)


def next_inspection_due(procedure: Procedure, released_at: datetime) -> datetime | None:
    if procedure.inspection_days is None:
        return None
    return released_at + timedelta(days=procedure.inspection_days)
