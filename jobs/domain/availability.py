"""May dispatch send the unit out now? Computed from the facts each time it is asked, never stored.

Rules, in plain sentences:

1. A unit is not available while anything stands against it; everything that does is named at once.
2. Its newest rebuild must have ended in a release. No rebuild, a rebuild in work, or one that ended without a
   release leaves it without one, whatever was released before: the coupling has been apart since. A rebuild that
   was withdrawn before anything was done is none: the unit is what it was before.
3. The release counts only while it is neither suspended nor revoked, and only for the coupling and the casting
   that were released.
4. A held unit is not available, nor is one whose casting is condemned.
5. A release that waits for a follow-up makes the unit limited. Once the follow-up is overdue, or the next
   inspection is overdue by the calendar, the unit is not available.
6. The version that goes with the answer only grows. It rises with every fact that changes the answer, and with
   every due time that passes without what was due, so that an answer once acknowledged is not acknowledged anew
   by the calendar.

Example: unit 4107, released on 2 March 2026 with a re-torque due by 12 March. On 3 March it is limited, "follow-up
due by 2026-03-12". On 13 March, with no follow-up on record, it is not available.

Distance is not judged here: the record does not know the odometer of a unit on the road. What a procedure asks
for by distance is dispatch's to watch.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID


class State(StrEnum):
    AVAILABLE = "available"
    LIMITED = "limited"
    NOT_AVAILABLE = "not_available"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a unit is limited or not available: what, how that ends, since when, until when, and about which row."""

    code: str
    what: str
    cure: str
    since: datetime | None = None
    due_at: datetime | None = None
    about: UUID | None = None


@dataclass(frozen=True, slots=True)
class RebuildFacts:
    """The unit's newest rebuild that was not withdrawn."""

    id: UUID
    state: str  # of the job: open, released, condemned
    opened_at: datetime


@dataclass(frozen=True, slots=True)
class OpenJob:
    """The job in work on the unit, of whatever purpose."""

    id: UUID
    shop: str  # its code
    purpose: str
    opened_at: datetime
    is_stopped: bool = False  # paused, or a hold of its own is open


@dataclass(frozen=True, slots=True)
class Suspension:
    """A suspension that has not been lifted."""

    id: UUID
    code: str
    reason: str
    suspended_at: datetime


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold on the unit that has not been cleared."""

    id: UUID
    kind: str
    reason: str
    may_clear: str
    held_at: datetime


@dataclass(frozen=True, slots=True)
class ReleaseFacts:
    """The unit's newest release, and what has become of it."""

    id: UUID
    version: int
    released_at: datetime
    fits_coupling: bool  # the coupling and the casting that were released are on the unit now
    suspensions: tuple[Suspension, ...] = ()
    revoked_at: datetime | None = None
    revocation: str | None = None
    needs_follow_up: bool = False
    follow_up_due_at: datetime | None = None
    followed_up_at: datetime | None = None
    next_inspection_at: datetime | None = None
    last_lifted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class UnitFacts:
    """All that decides whether a unit may go."""

    unit: UUID
    version: int
    rebuild: RebuildFacts | None = None
    job: OpenJob | None = None
    release: ReleaseFacts | None = None
    holds: tuple[Hold, ...] = ()
    last_cleared_at: datetime | None = None
    condemned_casting: str | None = None  # serial
    condemned_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Availability:
    """The answer. `since` is when the standing reasons began; for an available unit, when the last one ended."""

    unit: UUID
    state: State
    version: int
    since: datetime | None
    release: UUID | None
    release_version: int | None
    reasons: tuple[Reason, ...]


def availability(facts: UnitFacts, now: datetime) -> Availability:
    """May the unit go, at `now`?"""
    against = standing_against(facts, now)
    limits = () if against else _limits(facts.release)
    state = State.NOT_AVAILABLE if against else State.LIMITED if limits else State.AVAILABLE
    since = _first(reason.since for reason in against) if against else _free_since(facts)
    release = facts.release
    return Availability(
        facts.unit,
        state,
        facts.version,
        since,
        release.id if release else None,
        release.version if release else None,
        against or limits,
    )


def standing_against(facts: UnitFacts, now: datetime) -> tuple[Reason, ...]:
    """Everything for which the unit is not available."""
    return (
        *_condemned(facts),
        *_holds(facts.holds),
        *_job(facts.job),
        *_unreleased(facts),
        *(_release(facts.release, now) if _is_released(facts.rebuild) and facts.release else ()),
    )


def _is_released(rebuild: RebuildFacts | None) -> bool:
    return rebuild is not None and rebuild.state == "released"


def _condemned(facts: UnitFacts) -> list[Reason]:
    if facts.condemned_at is None:
        return []
    what = f"The casting {facts.condemned_casting} on the unit is condemned."
    cure = "Fit another top plate and rebuild the coupling; a condemned casting is never used again."
    return [Reason("casting_condemned", what, cure, facts.condemned_at)]


def _holds(holds: tuple[Hold, ...]) -> list[Reason]:
    return [
        Reason(
            "unit_held",
            f"The unit is held ({hold.kind.replace('_', ' ')}): {hold.reason}",
            f"{_who(hold.may_clear)} clears the hold with a reason.",
            hold.held_at,
            about=hold.id,
        )
        for hold in holds
    ]


def _who(may_clear: str) -> str:
    return "A lead or quality" if may_clear == "lead" else may_clear.capitalize()


def _job(job: OpenJob | None) -> list[Reason]:
    if job is None:
        return []
    doing = "Its follow-up" if job.purpose == "follow_up" else "A rebuild"
    stopped = ", and is stopped: it is paused or waits for somebody to clear a hold" if job.is_stopped else ""
    what = f"{doing} is in work at shop {job.shop}{stopped}."
    return [Reason("job_open", what, "The shop finishes the job.", job.opened_at, about=job.id)]


def _unreleased(facts: UnitFacts) -> list[Reason]:
    """Fails closed: facts that do not fit together release nothing."""
    rebuild = facts.rebuild
    if rebuild is None or (_is_released(rebuild) and facts.release is None):
        return [Reason("no_release", "There is no release of the unit.", "Rebuild its coupling and release it.")]
    if _is_released(rebuild) or (rebuild.state == "open" and facts.job is not None):
        return []
    what = f"Its newest rebuild ended without a release: the job is {rebuild.state}."
    cure = "Rebuild the coupling in a new job and release it."
    return [Reason("rebuild_not_released", what, cure, rebuild.opened_at, about=rebuild.id)]


def _release(release: ReleaseFacts, now: datetime) -> tuple[Reason, ...]:
    return (*_revoked(release), *_suspended(release), *_changed(release), *_overdue(release, now))


def _revoked(release: ReleaseFacts) -> list[Reason]:
    if release.revoked_at is None:
        return []
    what = f"Release {release.version} is revoked: {release.revocation}"
    cure = "Rebuild the coupling in a new job and release it; a revoked release never counts again."
    return [Reason("release_revoked", what, cure, release.revoked_at, about=release.id)]


def _suspended(release: ReleaseFacts) -> list[Reason]:
    return [
        Reason(
            "release_suspended",
            f"Release {release.version} is suspended ({suspension.code.replace('_', ' ')}): {suspension.reason}",
            "Whoever may lift the suspension lifts it with a reason, or the coupling is rebuilt.",
            suspension.suspended_at,
            about=suspension.id,
        )
        for suspension in release.suspensions
    ]


def _changed(release: ReleaseFacts) -> list[Reason]:
    if release.fits_coupling:
        return []
    what = f"Release {release.version} is for another coupling or casting than the unit has now."
    cure = "Put the register right, or rebuild the coupling that is on the unit and release it."
    return [Reason("coupling_changed", what, cure, about=release.id)]


def _overdue(release: ReleaseFacts, now: datetime) -> list[Reason]:
    found = []
    due = release.follow_up_due_at
    if _waits_for_follow_up(release) and due is not None and due < now:
        what = f"The follow-up of release {release.version} was due by {due:%Y-%m-%d}."
        found.append(Reason("follow_up_overdue", what, "Open a follow-up job and do it.", due, due, release.id))
    inspection = release.next_inspection_at
    if inspection is not None and inspection < now:
        what = f"The next inspection was due by {inspection:%Y-%m-%d}."
        cure = "Inspect the coupling in a new rebuild job and release it."
        found.append(Reason("inspection_overdue", what, cure, inspection, inspection, release.id))
    return found


def _waits_for_follow_up(release: ReleaseFacts) -> bool:
    return release.needs_follow_up and release.followed_up_at is None


def _limits(release: ReleaseFacts | None) -> tuple[Reason, ...]:
    """Conditions under which an available unit goes; by the time this is asked, nothing stands against it."""
    if release is None or not _waits_for_follow_up(release):
        return ()
    due = release.follow_up_due_at
    by = f" by {due:%Y-%m-%d}" if due else ""
    what = f"Limited until the follow-up of release {release.version}, due{by}, or sooner by its distance."
    cure = "Bring the unit back for its follow-up in time."
    return (Reason("follow_up_due", what, cure, release.released_at, due, release.id),)


def _free_since(facts: UnitFacts) -> datetime | None:
    release = facts.release
    if release is None:
        return None
    ended = (release.released_at, release.followed_up_at, release.last_lifted_at, facts.last_cleared_at)
    return max(time for time in ended if time is not None)


def _first(times: Iterable[datetime | None]) -> datetime | None:
    return min((time for time in times if time is not None), default=None)
