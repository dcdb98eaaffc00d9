"""An event about a unit's availability, as CloudEvents 1.0 (JSON format) has it, for the feed and for web hooks."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

EVENT_TYPE: Final = "rebuild_record.availability.changed"
_SEQUENCE_DIGITS: Final = 19  # of the largest position: texts of one length sort as their numbers do


def availability_event(
    *, source: str, position: int, identifier: UUID, unit: UUID, changed_at: datetime, availability: Mapping[str, Any]
) -> dict[str, Any]:
    """`position` is the event's place in the log that `source` names; `availability` that of now, not of then."""
    return {
        "specversion": "1.0",
        "id": identifier,
        "source": source,
        "type": EVENT_TYPE,
        "subject": unit,
        "time": changed_at,
        "sequence": f"{position:0{_SEQUENCE_DIGITS}d}",
        "datacontenttype": "application/json",
        "data": availability,
    }
