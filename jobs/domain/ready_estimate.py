"""When will a unit in work be ready? An estimate from rebuilds that are over, or none.

Rules, in plain sentences:

1. Only released rebuilds of the same coupling model in the same shop are compared, by their time from opening to
   release, nights and week-ends included.
2. Only those count that took longer than this one has taken so far: what is asked is how long the others had
   still to go.
3. With fewer than five of them there is no estimate, and none while the job is stopped or something else stands
   against the unit: nobody knows how long that takes.
4. Half of them were ready by the likely time, nine in ten by the late one (nearest rank).

Example: opened 30 h ago; past rebuilds took 7, 8, 31, 32, 33, 35, 40 h. The five longer ones leave 33 h as the
likely and 40 h as the late duration: likely in 3 h, late in 10 h.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

FEWEST = 5


@dataclass(frozen=True, slots=True)
class ReadyEstimate:
    """`likely_at` and `late_at`, and how many past rebuilds say so."""

    likely_at: datetime
    late_at: datetime
    rebuilds: int


def ready_estimate(opened_at: datetime, now: datetime, durations: Sequence[timedelta]) -> ReadyEstimate | None:
    """The estimate for a job opened at `opened_at`, from the durations of comparable rebuilds; None if too few."""
    longer = sorted(duration for duration in durations if duration > now - opened_at)
    if len(longer) < FEWEST:
        return None
    likely, late = (longer[_rank(tenths, len(longer))] for tenths in (5, 9))
    return ReadyEstimate(opened_at + likely, opened_at + late, len(longer))


def _rank(tenths: int, count: int) -> int:
    """Index of the nearest rank: the smallest value that at least tenths/10 of the values do not exceed."""
    return -(-tenths * count // 10) - 1
