"""Sweeps recalled kits: each is found where it is, and what its place calls for is done. Doing it again does nothing.

What follows for the entries of a job in work follows from the facts: the recall is one of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from operator import attrgetter
from uuid import UUID

from jobs.domain.facts import Facts
from jobs.domain.kit_whereabouts import KitState, kit_state
from jobs.domain.recall_set import KitReceived
from jobs.models.kit import KitMovement
from jobs.models.recall import RecallOutcome, SearchTask
from jobs.queries.company_facts import facts_as_written
from jobs.queries.job_rows import locked_job
from jobs.queries.job_with_kit import job_with_kit
from jobs.queries.recalled_kits import KitAt, RecallRead, kits_at
from jobs.services.derive_again import derive_again
from jobs.services.raise_availability import raise_availability
from jobs.services.write_suspension import write_suspension
from shops.services.new_id import new_id

SUSPENSION_CODE = "recalled_kit"
_IN_A_COUPLING = frozenset({KitState.FITTED, KitState.IN_WORK})


@dataclass(frozen=True, slots=True)
class _Sweep:
    company: UUID
    recall: RecallRead
    by: str
    now: datetime


def sweep_kits(*, company: UUID, recall: RecallRead, kits: Sequence[KitReceived], by: str, now: datetime) -> int:
    """How many kits were swept now. Call it under the lock of kits, in the transaction that publishes the recall."""
    sweep = _Sweep(company, recall, by, now)
    serials = {kit.id: kit for kit in kits}
    facts = facts_as_written(company).facts
    found = _with_jobs_locked(company, [kit.id for kit in kits], recall.id)
    outcomes = [_swept(sweep, serials[kit], list(places), facts) for kit, places in groupby(found, attrgetter("kit"))]
    if outcomes:
        written = facts_as_written(company)
        for job in sorted({outcome.job_id for outcome in outcomes if outcome.job_id is not None}):
            derive_again(company=company, job=job, facts=written, now=now)
    return len(outcomes)


def _with_jobs_locked(company: UUID, kits: list[UUID], recall: UUID) -> list[KitAt]:
    """Where the kits are, read again until the jobs that have them are locked, in the order of their ids."""
    locked: set[UUID] = set()
    while True:
        found = kits_at(kits, recall)
        waiting = {at.job for at in found if at.job is not None} - locked
        if not waiting:
            return found
        for job in sorted(waiting):
            locked_job(company, job)
        locked |= waiting


def _swept(sweep: _Sweep, kit: KitReceived, places: Sequence[KitAt], facts: Facts) -> RecallOutcome:
    """If several jobs have the kit by what was signed, each is stopped, and the outcome tells of the last one."""
    states = [(at, kit_state(at.last_move, job_with_kit(sweep.company, kit.serial, at, facts))) for at in places]
    found = [(at, state) for at, state in states if state in _IN_A_COUPLING] or states[:1]
    state = found[0][1]
    outcome = RecallOutcome(
        id=new_id(sweep.now),
        company_id=sweep.company,
        recall_id=sweep.recall.id,
        kit_id=kit.id,
        state=state.value,
        what="",
        swept_at=sweep.now,
    )
    for place, where in reversed(found):
        _ACTIONS[where](sweep, kit, place, outcome)
    outcome.save(force_insert=True)
    if state is KitState.UNKNOWN:
        SearchTask.objects.create(
            id=new_id(sweep.now),
            company_id=sweep.company,
            outcome_id=outcome.id,
            what=f"Find kit {kit.serial} of lot {kit.lot}. {outcome.what}",
            opened_at=sweep.now,
        )
    return outcome


def _fitted(sweep: _Sweep, kit: KitReceived, at: KitAt, outcome: RecallOutcome) -> None:
    outcome.job_id, outcome.release_id = at.job, at.release
    where = f"Fitted in unit {at.unit_number} by shop {at.shop}"
    if at.is_revoked or at.release is None or at.unit is None:
        outcome.what = f"{where}; its release {at.release_version} is revoked."
        return
    suspension = write_suspension(
        company=sweep.company,
        release=at.release,
        unit=at.unit,
        code=SUSPENSION_CODE,
        reason=f"Kit {kit.serial} of lot {kit.lot} is recalled: {sweep.recall.reason}",
        recorded_by=f"the record, for a recall published by {sweep.by}",
        now=sweep.now,
    )
    outcome.suspension_id = suspension.id
    outcome.what = f"{where}; its release {at.release_version} is suspended."


def _in_work(sweep: _Sweep, _kit: KitReceived, at: KitAt, outcome: RecallOutcome) -> None:
    outcome.job_id = at.job
    outcome.what = f"In work on unit {at.unit_number} at shop {at.shop}; the job is held."
    if at.unit is not None:
        raise_availability(sweep.company, at.unit)


def _in_stock(sweep: _Sweep, kit: KitReceived, at: KitAt, outcome: RecallOutcome) -> None:
    if at.last_move == "quarantined":
        outcome.what = "In stock; it was quarantined before."
        return
    movement = KitMovement.objects.create(
        id=new_id(sweep.now),
        company_id=sweep.company,
        kit_id=kit.id,
        kind="quarantined",
        moved_at=sweep.now,
        recorded_by=f"the record, for a recall published by {sweep.by}",
    )
    outcome.movement_id = movement.id
    outcome.what = "In stock; it is quarantined."


def _scrapped(_sweep: _Sweep, _kit: KitReceived, at: KitAt, outcome: RecallOutcome) -> None:
    if at.last_move == "scrapped":
        outcome.what = f"Scrapped on {at.moved_at:%Y-%m-%d}."
        return
    outcome.job_id = at.job
    outcome.what = f"Was in unit {at.unit_number}, which has been rebuilt and released with another kit since."


def _unknown(_sweep: _Sweep, _kit: KitReceived, at: KitAt, outcome: RecallOutcome) -> None:
    if at.job is None:
        outcome.what = f"It was issued on {at.moved_at:%Y-%m-%d}, and no job names it."
        return
    outcome.what = f"It was issued to a job on unit {at.unit_number}, and the record does not show it there now."


_ACTIONS = {
    KitState.FITTED: _fitted,
    KitState.IN_WORK: _in_work,
    KitState.STOCK: _in_stock,
    KitState.SCRAPPED: _scrapped,
    KitState.UNKNOWN: _unknown,
}
