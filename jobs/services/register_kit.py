"""Registers a kit as parts received it. One that a published recall takes is quarantined at once."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from jobs.domain.recall_set import KitReceived
from jobs.models.kit import Kit
from jobs.queries.recalled_kits import published_recalls
from jobs.services.company_lock import LockKey, wait_for_lock
from jobs.services.sweep_recall import sweep_kits
from shops.domain.access import Grant
from shops.services.create_once import Created, Taken, create_once

TAKEN = {"kits_one_serial": Taken("/serial", "Another kit has this serial.", "Read the label again, or look it up.")}


@dataclass(frozen=True, slots=True)
class KitRequest:
    """`received_at` None means now."""

    id: UUID
    serial: str
    lot: str
    coupling: str
    lines: list[str]
    received_at: datetime | None = None


def register_kit(*, grant: Grant, request: KitRequest, now: datetime) -> Created[Kit]:
    """Raises AlreadyExists for an id or serial that is taken."""
    wait_for_lock(grant.company, LockKey.KITS)
    row = Kit(
        id=request.id,
        company_id=grant.company,
        serial=request.serial,
        lot=request.lot,
        coupling=request.coupling,
        lines=request.lines,
        received_at=request.received_at or now,
        recorded_by=grant.by,
    )
    said = ("received_at",) if request.received_at else ()
    created = create_once(row, content=("serial", "lot", "coupling", "lines", *said), taken=TAKEN)
    if created.is_new:
        kit = KitReceived(row.id, row.serial, row.lot, row.coupling, row.received_at)
        for recall in published_recalls():
            if recall.wanted.hits(kit):
                sweep_kits(company=grant.company, recall=recall, kits=[kit], by=grant.by, now=now)
    return created
