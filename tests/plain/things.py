"""Kits and gauges: where each has been, and what was found out about it later."""

from dataclasses import dataclass, field
from datetime import datetime

LOTS = {"K-1": "L-1", "K-2": "L-1", "K-3": "L-2"}
"""The kits that parts have received."""
GAUGES = ("FG-11", "FG-12")


@dataclass
class Kit:
    """`moves` are those that parts noted: when, and where to."""

    lot: str
    recalled: datetime | None = None
    moves: list[tuple[datetime, str]] = field(default_factory=list)

    @property
    def place(self) -> str:
        return self.moves[-1][1] if self.moves else "stocked"

    def may_be_issued(self, at: datetime) -> bool:
        """Not once it is recalled, nor from where it has been put aside or given to another job."""
        place = [to for moved, to in self.moves if moved <= at][-1:]
        is_free = not {"quarantined", "scrapped", "elsewhere"}.intersection(place)
        return is_free and (self.recalled is None or at < self.recalled)

    def taken_back(self, after: datetime) -> datetime | None:
        """When parts took it back or put it aside after it was issued; where else it went then does not matter."""
        return max((moved for moved, to in self.moves if moved > after and to != "elsewhere"), default=None)


@dataclass(frozen=True)
class Check:
    """A calibration: it found the gauge good, off (so far that a good gap is none), or bad in an unknown way."""

    at: datetime
    found: str
    left_good: bool = True


@dataclass
class Gauge:
    """`checks` in the order of time; the first one, before all work, found it good."""

    checks: list[Check] = field(default_factory=list)
    lost: datetime | None = None

    def is_good(self, at: datetime) -> bool:
        left_bad = [not check.left_good for check in self.checks if check.at <= at][-1:]
        return left_bad != [True] and (self.lost is None or at < self.lost)

    def doubt(self, at: datetime) -> datetime | None:
        """When the check after a use at `at` found it off."""
        after = [check for check in self.checks if check.at > at][:1]
        return after[0].at if after and after[0].found == "off" else None

    def was_doubted_at(self, check: Check, at: datetime) -> bool:
        """Whether a check throws doubt on a use at a time: since the gauge was last left good before it."""
        return at < check.at and not any(at < one.at < check.at and one.left_good for one in self.checks)
