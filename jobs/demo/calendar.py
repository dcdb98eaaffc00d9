"""The days of the story, moved so that they end yesterday.

A key earns credit only from its enrolment on, and nothing may be dated in the future. So the story keeps its times of
day, its durations and its intervals, and begins eight days ago.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

LENGTH = 8  # the re-torque is on the eighth day


@dataclass(frozen=True, slots=True)
class Calendar:
    """`first` is the day of the intake, in the shop's `zone`."""

    first: date
    zone: ZoneInfo

    @classmethod
    def ending_yesterday(cls, now: datetime, zone_name: str) -> "Calendar":
        zone = ZoneInfo(zone_name)
        return cls(now.astimezone(zone).date() - timedelta(days=LENGTH), zone)

    def at(self, clock: str, day: int = 1) -> datetime:
        """The moment when the shop's clock shows `clock` on a day of the story; day 1 is the first."""
        date_ = self.first + timedelta(days=day - 1)
        return datetime.combine(date_, time.fromisoformat(clock), tzinfo=self.zone)

    def utc(self, clock: str, day: int = 1) -> datetime:
        return self.at(clock, day).astimezone(UTC)

    def named(self, day: int) -> str:
        found = self.first + timedelta(days=day - 1)
        return f"{found:%a} {found.day} {found:%b %Y}"
