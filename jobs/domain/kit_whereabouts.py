"""Where a recalled kit is, and so what must happen.

Rules, in plain sentences:

1. A kit that was issued to a job whose coupling it is in is in work while the job is open: the job is held.
2. If that job is released, the kit is fitted: the release is suspended. If the unit has been released after another
   rebuild since, the kit's parts were taken out and destroyed then: it counts as scrapped.
   What was signed to be in a coupling is looked for there, whatever parts booked afterwards.
3. Any other kit that was scrapped is listed, and nothing more.
4. One that was received, stocked, returned or quarantined is in stock: it is quarantined.
5. Everything else is unknown: issued to no job, to a job that took another kit in its place, or to one that ended
   without a release. Somebody searches for it.

Example: K-T2-0418 left the shelf of shop D in March, and no job names it: unknown.
"""

from dataclasses import dataclass
from enum import StrEnum


class KitState(StrEnum):
    FITTED = "fitted"
    IN_WORK = "in_work"
    STOCK = "stock"
    SCRAPPED = "scrapped"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class JobWithKit:
    """The job that a kit was issued to."""

    state: str
    has_kit: bool  # the kit that was issued last with credit is this one
    is_superseded: bool = False  # the unit was released after a later rebuild


def kit_state(last_move: str | None, job: JobWithKit | None) -> KitState:
    """`last_move` is the kind of the kit's last movement; `job` the one that it was issued to last."""
    if job is not None and job.has_kit and not job.is_superseded:
        found = {"open": KitState.IN_WORK, "released": KitState.FITTED}.get(job.state)
        if found is not None:
            return found
    if last_move == "scrapped" or (last_move == "issued" and job is not None and job.has_kit and job.is_superseded):
        return KitState.SCRAPPED
    return KitState.UNKNOWN if last_move == "issued" else KitState.STOCK
