"""Published recalls, the kits that a set takes, and where those kits are."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.domain.recall_set import KitReceived, RecallSet
from jobs.models.kit import Kit
from jobs.models.recall import Recall, RecallDecision, RecallOutcome


@dataclass(frozen=True, slots=True)
class RecallRead:
    """A recall as it was proposed."""

    id: UUID
    reason: str
    wanted: RecallSet
    supplier_count: int | None
    recorded_by: str
    token: UUID
    technician: UUID | None


def recall_read(row: Recall) -> RecallRead:
    return RecallRead(row.id, row.reason, set_of(row), row.supplier_count, row.recorded_by, row.token, row.technician)


def set_of(row: Recall) -> RecallSet:
    return RecallSet(
        row.coupling,
        row.lot,
        row.serial_from,
        row.serial_to,
        None if row.serials is None else frozenset(row.serials),
        row.received_from,
        row.received_to,
    )


def published_recalls() -> list[RecallRead]:
    """The entered company's published recalls, oldest first."""
    published = RecallDecision.objects.filter(kind="published").order_by("decided_at", "id").select_related("recall")
    return [recall_read(decision.recall) for decision in published]


def kits_hit(wanted: RecallSet) -> list[KitReceived]:
    """The kits of the entered company that the set takes, by serial. One query."""
    kits = Kit.objects.all()
    for column in ("lot", "coupling"):
        value = getattr(wanted, column)
        kits = kits.filter(**{column: value}) if value is not None else kits
    if wanted.serials is not None:
        kits = kits.filter(serial__in=wanted.serials)
    columns = ("id", "serial", "lot", "coupling", "received_at")
    found = (KitReceived(*row) for row in kits.order_by("serial", "id").values_list(*columns))
    return [kit for kit in found if wanted.hits(kit)]


_WHEREABOUTS: Final = """
SELECT k.id, m.kind, m.moved_at, j.id, j.state, u.id, u.number, s.code, r.id, r.version, v.id IS NOT NULL,
  EXISTS (SELECT FROM releases n WHERE n.company_id = r.company_id AND n.unit_id = r.unit_id AND n.version > r.version)
FROM kits k
LEFT JOIN LATERAL (
  SELECT kind, job, moved_at FROM kit_movements
  WHERE company_id = k.company_id AND kit_id = k.id ORDER BY moved_at DESC, id DESC LIMIT 1) m ON true
LEFT JOIN LATERAL (
  SELECT i.job, max(i.moved_at) AS moved_at FROM kit_movements i
  LEFT JOIN entry_credits c ON c.company_id = i.company_id AND c.entry_id = i.id
  WHERE i.company_id = k.company_id AND i.kit_id = k.id AND i.kind = 'issued'
    AND NOT COALESCE('kit_on_two_jobs' = ANY(c.finding_codes), false)
  GROUP BY i.job) i ON true
LEFT JOIN jobs j ON j.company_id = k.company_id AND j.id = i.job
LEFT JOIN units u ON u.company_id = j.company_id AND u.id = j.unit_id
LEFT JOIN shops s ON s.company_id = j.company_id AND s.id = j.shop_id
LEFT JOIN releases r ON r.company_id = j.company_id AND r.job_id = j.id
LEFT JOIN release_revocations v ON v.company_id = r.company_id AND v.release_id = r.id
WHERE k.id = ANY(%s) AND NOT EXISTS (
  SELECT FROM recall_outcomes o WHERE o.company_id = k.company_id AND o.kit_id = k.id AND o.recall_id = %s)
ORDER BY k.serial, k.id, i.moved_at DESC, i.job
"""


@dataclass(frozen=True, slots=True)
class KitAt:
    """Where the movements say that a kit is; a job that it was issued to, its unit, its release."""

    kit: UUID
    last_move: str | None
    moved_at: datetime | None
    job: UUID | None
    job_state: str | None
    unit: UUID | None
    unit_number: str | None
    shop: str | None
    release: UUID | None
    release_version: int | None
    is_revoked: bool
    is_superseded: bool


def kits_at(kits: Sequence[UUID], recall: UUID | None = None) -> list[KitAt]:
    """Where those of `kits` are that the recall, if there is one, has not swept yet.

    A row for each job that a kit was issued to, the last one first; at least one for each kit.
    """
    with connection.cursor() as cursor:
        cursor.execute(_WHEREABOUTS, [list(kits), recall])
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return [KitAt(*row) for row in rows]


def is_recalled(kit: UUID) -> bool:
    return RecallOutcome.objects.filter(kit_id=kit).exists()
