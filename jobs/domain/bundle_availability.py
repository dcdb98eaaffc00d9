"""Whether the job's unit may go, from the rows of a bundle: what the server reads from its tables, read from them."""

from collections.abc import Collection
from datetime import datetime
from typing import Any
from uuid import UUID

from jobs.domain.availability import (
    Availability,
    Hold,
    OpenJob,
    RebuildFacts,
    ReleaseFacts,
    Suspension,
    UnitFacts,
    availability,
)
from jobs.domain.bundle_facts import by_parent, time_of
from jobs.domain.bundle_parts import BundleParts, Row


def availability_of(parts: BundleParts, at: datetime) -> Availability:
    """Raises whatever a row of another shape makes of it."""
    return availability(_unit(parts), at)


def _unit(parts: BundleParts) -> UnitFacts:
    unit, jobs = parts.register["unit"], parts.register["jobs"]
    cleared = {row["hold_id"]: row for row in parts.rows("unit_hold_clearings")}
    plates = {plate["id"]: plate["casting_serial"] for plate in parts.register["top_plates"]}
    mounted = {coupling["top_plate"] for coupling in unit["couplings"]}
    condemned = sorted(
        (row for row in parts.rows("condemnations") if row["top_plate_id"] in mounted),
        key=lambda row: str(row["condemned_at"]),
    )
    withdrawn = {row["job_id"] for row in parts.rows("job_withdrawals")}
    rebuilds = sorted(
        (job for job in jobs if job["purpose"] == "rebuild" and not _is_withdrawn(job, withdrawn)),
        key=lambda job: (job["opened_at"], job["id"]),
    )
    at_work = next((job for job in jobs if job["state"] == "open"), None)
    return UnitFacts(
        unit=UUID(unit["id"]),
        version=0,
        rebuild=None if not rebuilds else _rebuild(rebuilds[-1]),
        job=None if at_work is None else _open_job(at_work),
        release=_release(parts),
        holds=tuple(_hold(row) for row in parts.rows("unit_holds") if row["id"] not in cleared),
        last_cleared_at=max((datetime.fromisoformat(row["cleared_at"]) for row in cleared.values()), default=None),
        condemned_casting=plates.get(condemned[0]["top_plate_id"]) if condemned else None,
        condemned_at=time_of(condemned[0]["condemned_at"]) if condemned else None,
    )


def _is_withdrawn(job: Row, withdrawn: Collection[str]) -> bool:
    """Only a job whose withdrawal is here: that it is called abandoned is in no leaf."""
    return job["state"] == "abandoned" and job["id"] in withdrawn


def _rebuild(job: Row) -> RebuildFacts:
    return RebuildFacts(UUID(job["id"]), job["state"], datetime.fromisoformat(job["opened_at"]))


def _open_job(job: Row) -> OpenJob:
    opened = datetime.fromisoformat(job["opened_at"])
    return OpenJob(UUID(job["id"]), job["shop"], job["purpose"], opened, job["is_stopped"])


def _hold(row: Row) -> Hold:
    return Hold(UUID(row["id"]), row["kind"], row["reason"], row["may_clear"], datetime.fromisoformat(row["held_at"]))


def _release(parts: BundleParts) -> ReleaseFacts | None:
    newest: Any = max(parts.rows("releases"), key=lambda row: int(row["version"]), default=None)
    if newest is None:
        return None
    revoked: Row = next((row for row in parts.rows("release_revocations") if row["release_id"] == newest["id"]), {})
    done: Row = next((row for row in parts.rows("follow_up_completions") if row["release_id"] == newest["id"]), {})
    suspensions = by_parent(parts.rows("release_suspensions"), "release_id").get(newest["id"], [])
    lifted = {row["suspension_id"]: row["lifted_at"] for row in parts.rows("suspension_liftings")}
    lifts = [datetime.fromisoformat(lifted[row["id"]]) for row in suspensions if row["id"] in lifted]
    return ReleaseFacts(
        id=UUID(newest["id"]),
        version=newest["version"],
        released_at=datetime.fromisoformat(newest["released_at"]),
        fits_coupling=_fits(parts, newest),
        suspensions=tuple(_suspension(row) for row in suspensions if row["id"] not in lifted),
        revoked_at=time_of(revoked.get("revoked_at")),
        revocation=revoked.get("reason"),
        needs_follow_up=newest["limited_until_follow_up"],
        follow_up_due_at=time_of(newest.get("follow_up_due_at")),
        followed_up_at=time_of(done.get("completed_at")),
        next_inspection_at=time_of(newest.get("next_inspection_at")),
        last_lifted_at=max(lifts, default=None),
    )


def _fits(parts: BundleParts, release: Row) -> bool:
    """Whether the coupling and the casting of the released job are on the unit now."""
    job: Row = next((job for job in parts.register["jobs"] if job["id"] == release["job_id"]), {})
    wanted = (job.get("coupling"), job.get("top_plate"))
    return wanted in [(coupling["id"], coupling["top_plate"]) for coupling in parts.register["unit"]["couplings"]]


def _suspension(row: Row) -> Suspension:
    return Suspension(UUID(row["id"]), row["code"], row["reason"], datetime.fromisoformat(row["suspended_at"]))
