"""When is the next inspection? The earliest of calendar, distance and wear, with its reason.

In plain sentences:
1. The calendar gives a last day, the distance interval a last odometer reading, wear another one.
2. The odometer reading that comes first counts; its reason is distance, or wear when wear is nearer.
3. Days and distance can be compared only with a daily distance; then the earlier day is the one reason.
4. Without a daily distance both are named, and whichever comes first is due.

Worked example: released 2 March at 412 306 mi; 90 days and 25 000 mi give 31 May and 437 306 mi. At 400 mi a
day the distance is reached on day 62, 3 May: the reason is distance.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction

from inspections.domain.quantities import shown

LONGEST_DAYS = 36_525


class InspectionReason(StrEnum):
    CALENDAR = "calendar"
    DISTANCE = "distance"
    WEAR = "wear"


@dataclass(frozen=True, slots=True)
class InspectionInterval:
    """What a procedure asks for: days, and distance in `unit`; None where it does not ask."""

    days: int | None
    distance: Fraction | None
    unit: str = "mi"


@dataclass(frozen=True, slots=True)
class NextInspection:
    """By which day, by which odometer reading, each with its reason; `expected_on` when a pace is known.

    `reason` is the one that binds: of the days when they can be compared, else None if both kinds are there.
    """

    by_day: date | None
    by_distance: Fraction | None
    distance_reason: InspectionReason | None
    expected_on: date | None
    reason: InspectionReason | None
    message: str

    def is_due(self, today: date, odometer: Fraction | None) -> bool:
        """Has the last day or the last odometer reading come? An unknown odometer counts for neither."""
        by_day = self.by_day is not None and today >= self.by_day
        by_distance = self.by_distance is not None and odometer is not None and odometer >= self.by_distance
        return by_day or by_distance


def next_inspection(
    since: date,
    odometer: Fraction | None,
    interval: InspectionInterval,
    *,
    wear_left: Fraction | None = None,
    daily_distance: Fraction | None = None,
) -> NextInspection:
    """The next inspection, counted from the day and odometer reading of the last one.

    `wear_left` is the distance that wear still allows from there, None when wear names none. Raises
    ValueError for negative intervals, more than a century, a pace not above zero, or when neither calendar
    nor distance nor wear says anything.
    """
    _check(interval, wear_left, daily_distance)
    by_day = since + timedelta(days=interval.days) if interval.days is not None else None
    nearest = _nearest(interval.distance, wear_left)
    if by_day is None and nearest is None:
        raise ValueError("no interval of days, of distance, and no wear: there is no next inspection to name")
    distance, distance_reason = nearest or (None, None)
    by_distance = None if distance is None or odometer is None else odometer + distance
    reached = _day_of(since, distance, daily_distance)
    known = [day for day in (by_day, reached) if day is not None]
    expected_on = min(known) if known and (nearest is None or reached is not None) else None
    reason = _binding(by_day, reached, distance_reason)
    words = _words((by_day, distance, by_distance, expected_on), distance_reason, reason, interval.unit)
    return NextInspection(by_day, by_distance, distance_reason, expected_on, reason, words)


def _check(interval: InspectionInterval, wear_left: Fraction | None, daily_distance: Fraction | None) -> None:
    if any(part is not None and part < 0 for part in (interval.days, interval.distance, wear_left)):
        raise ValueError("an interval, and what wear leaves, are not negative")
    if interval.days is not None and interval.days > LONGEST_DAYS:
        raise ValueError(f"an interval is at most {LONGEST_DAYS} days")
    if daily_distance is not None and daily_distance <= 0:
        raise ValueError("a daily distance is above zero; leave it out when it is not known")


def _nearest(interval: Fraction | None, wear_left: Fraction | None) -> tuple[Fraction, InspectionReason] | None:
    """The shorter distance and its reason; wear has to be nearer to be the reason."""
    found = [
        (distance, reason)
        for distance, reason in ((interval, InspectionReason.DISTANCE), (wear_left, InspectionReason.WEAR))
        if distance is not None
    ]
    return min(found, key=lambda pair: pair[0], default=None)


def _day_of(since: date, distance: Fraction | None, daily: Fraction | None) -> date | None:
    """The day on which the distance is reached at this pace, rounded down; the last day of all if never."""
    if distance is None or daily is None:
        return None
    return since + timedelta(days=min(int(distance / daily), (date.max - since).days))


def _binding(
    by_day: date | None, reached: date | None, distance_reason: InspectionReason | None
) -> InspectionReason | None:
    if distance_reason is None:
        return InspectionReason.CALENDAR
    if by_day is None:
        return distance_reason
    if reached is None:
        return None
    return distance_reason if reached < by_day else InspectionReason.CALENDAR


def _words(
    due: tuple[date | None, Fraction | None, Fraction | None, date | None],
    distance_reason: InspectionReason | None,
    reason: InspectionReason | None,
    unit: str,
) -> str:
    by_day, distance, by_distance, expected_on = due
    parts = [f"by {by_day.isoformat()} (calendar)"] if by_day else []
    if distance is not None:
        place = f"within {shown(distance, unit, Fraction(1))}"
        if by_distance is not None:
            place = f"by {shown(by_distance, unit, Fraction(1))} on the odometer"
        parts.append(f"{place} ({distance_reason})")
    opening = "Next inspection " + " or ".join(parts)
    if len(parts) == 1:
        return f"{opening}."
    if expected_on is None:
        return f"{opening}, whichever comes first."
    return f"{opening}; at the known pace {reason} comes first, on {expected_on.isoformat()}."
