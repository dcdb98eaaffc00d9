"""Kits move by the entries that issue them: into the job with credit, and back if the entry turns out not to count."""

from collections.abc import Collection, Sequence
from datetime import timedelta
from uuid import UUID, uuid5

from jobs.domain.remembered import KitIssued
from jobs.models.kit import Kit, KitMovement
from jobs.queries.job_rows import JobRow
from jobs.services.write_suspension import THE_RECORD

_A_MOMENT = timedelta(microseconds=1)


def move_kits(company: UUID, job: JobRow, kits: Sequence[KitIssued], known: Collection[UUID]) -> None:
    """No other job takes them, and a recall finds them. A movement has the id of the entry that issued the kit."""
    for issued in kits:
        if issued.entry in known:
            continue
        KitMovement.objects.get_or_create(
            company_id=company,
            id=issued.entry,
            defaults={
                "kit_id": Kit.objects.values_list("id", flat=True).get(serial=issued.serial),
                "kind": "issued",
                "shop_id": job.shop,
                "job": job.id,
                "moved_at": issued.at,
                "recorded_by": THE_RECORD,
            },
        )


def take_kits_back(company: UUID, job: JobRow, entries: Sequence[UUID]) -> None:
    """An entry named the wrong kit and was amended: the kit that it named was never there, from the same moment on."""
    for movement in KitMovement.objects.filter(id__in=entries):
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
