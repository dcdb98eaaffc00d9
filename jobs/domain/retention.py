"""What stands against letting an evidence file go: every obstacle at once, for every job that names it.

Example: a photo is named on two jobs; the first is long over, the second open: it stays, and the answer says why.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import TypedDict
from uuid import UUID
from zoneinfo import ZoneInfo

from jobs.domain.retention_rules import Clock, clocks_of_files, may_go_on


class ObstacleDocument(TypedDict):
    code: str
    what: str
    job: str | None
    hold: str | None
    until: str | None


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One reason why a file stays: which job or hold it is about, and until when if that is known."""

    code: str
    what: str
    job: UUID | None = None
    hold: UUID | None = None
    until: date | None = None

    def document(self) -> ObstacleDocument:
        return {
            "code": self.code,
            "what": self.what,
            "job": str(self.job) if self.job else None,
            "hold": str(self.hold) if self.hold else None,
            "until": self.until.isoformat() if self.until else None,
        }


@dataclass(frozen=True, slots=True)
class HeldJob:
    """A job as retention sees it. `last_entry_at` is when its newest entry came in, `zone` its shop's."""

    id: UUID
    unit: UUID
    state: str
    zone: str
    last_entry_at: datetime
    is_suspended: bool


@dataclass(frozen=True, slots=True)
class LegalHoldOn:
    """A legal hold that is not lifted: on a job, on a unit, or (both None) on the whole company."""

    id: UUID
    reason: str
    job: UUID | None = None
    unit: UUID | None = None

    def covers(self, job: HeldJob) -> bool:
        if self.job is not None or self.unit is not None:
            return self.job == job.id or self.unit == job.unit
        return True


@dataclass(frozen=True, slots=True)
class Keeping:
    """How long the files of a job are kept: the clocks, the first day without one, and all that stands against it."""

    job: HeldJob
    clocks: tuple[Clock, ...]
    obstacles: tuple[Obstacle, ...]

    @property
    def may_go_on(self) -> date | None:
        return may_go_on(self.clocks)


def keeping_of(job: HeldJob, holds: tuple[LegalHoldOn, ...], *, left_control: date | None, now: datetime) -> Keeping:
    """What keeps the files of a job at `now`. Days are those of the job's shop."""
    zone = ZoneInfo(job.zone)
    clocks = clocks_of_files(job.last_entry_at.astimezone(zone).date(), left_control)
    found = [
        Obstacle("legal_hold", f"A legal hold is in force: {hold.reason}", job.id, hold.id)
        for hold in holds
        if hold.covers(job)
    ]
    if job.state == "open":
        found.append(Obstacle("job_open", "The job is open.", job.id))
    if job.is_suspended:
        found.append(Obstacle("release_suspended", "The job's release is suspended.", job.id))
    until = may_go_on(clocks)
    if until is not None and now.astimezone(zone).date() < until:
        longest = max(clocks, key=lambda clock: clock.until).rule
        found.append(Obstacle("kept_by_rule", f"It is kept until {until} ({longest}).", job.id, until=until))
    return Keeping(job, clocks, tuple(found))
