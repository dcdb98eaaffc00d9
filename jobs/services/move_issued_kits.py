"""Moves kits by the entries that issue them: into the job with credit, and back if such an entry does not count."""

from collections.abc import Collection
from datetime import timedelta
from uuid import UUID, uuid5

from jobs.domain.remembered import KitIssued
from jobs.models.kit import Kit, KitMovement
from jobs.queries.job_rows import JobRow
from jobs.services.write_suspension import THE_RECORD

_A_MOMENT = timedelta(microseconds=1)


def move_issued_kits(
    *, company: UUID, job: JobRow, issued: Collection[KitIssued], withdrawn: Collection[UUID] = ()
) -> None:
    """No other job takes what was `issued`, and a recall finds it; a movement has the id of the entry that made it.

    `withdrawn` are entries that named a wrong kit and were amended: that kit was never there, from the same moment on.
    """
    for kit in issued:
        _move(company, job, kit)
    for movement in KitMovement.objects.filter(id__in=withdrawn):
        _take_back(company, job, movement)


def _move(company: UUID, job: JobRow, kit: KitIssued) -> None:
    KitMovement.objects.get_or_create(
        company_id=company,
        id=kit.entry,
        defaults={
            "kit_id": Kit.objects.values_list("id", flat=True).get(serial=kit.serial),
            "kind": "issued",
            "shop_id": job.shop,
            "job": job.id,
            "moved_at": kit.at,
            "recorded_by": THE_RECORD,
        },
    )


def _take_back(company: UUID, job: JobRow, movement: KitMovement) -> None:
    KitMovement.objects.get_or_create(
        company_id=company,
        id=uuid5(movement.id, "returned"),
        defaults={
            "kit_id": movement.kit_id,
            "kind": "returned",
            "shop_id": job.shop,
            "moved_at": movement.moved_at + _A_MOMENT,
            "recorded_by": THE_RECORD,
        },
    )
