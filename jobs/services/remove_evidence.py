"""The worker's duty to decisions: files whose deletion was approved are taken out of the store.

Killed at any instruction it loses nothing: the file goes first, which can be done twice, and the row that says so is
committed after it. A legal hold that came after the decision and before this keeps the file.
"""

from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import connection, transaction

from jobs.models.retention import EvidenceRemoval
from jobs.queries.evidence_store import evidence_store, name_of
from jobs.queries.retention import is_held
from jobs.services.company_lock import LockKey, wait_for_lock
from shops.queries.access import enter_company
from shops.services.new_id import new_id

_WAITING: Final = """
SELECT d.id, f.digest FROM evidence_deletions d
JOIN evidence_deletion_decisions k ON k.company_id = d.company_id AND k.deletion_id = d.id AND k.kind = 'approved'
CROSS JOIN LATERAL jsonb_array_elements_text(d.digests) AS f(digest)
WHERE d.company_id = %s
  AND NOT EXISTS (SELECT FROM evidence_removals r WHERE r.company_id = d.company_id AND r.digest = f.digest)
ORDER BY k.decided_at, f.digest
"""


def remove_evidence(*, company: UUID, now: datetime) -> bool:
    """Take out what waits. False: nothing more is to be done now."""
    for deletion, digest in _waiting(company):
        _remove(company, deletion, digest, now)
    return False


@transaction.atomic
def _waiting(company: UUID) -> list[tuple[UUID, str]]:
    enter_company(company)
    with connection.cursor() as cursor:
        cursor.execute(_WAITING, [company])
        return [(row[0], row[1]) for row in cursor.fetchall()]


@transaction.atomic
def _remove(company: UUID, deletion: UUID, digest: str, now: datetime) -> None:
    enter_company(company)
    wait_for_lock(company, LockKey.RETENTION)
    wait_for_lock(company, LockKey.EVIDENCE, of=digest)
    if EvidenceRemoval.objects.filter(digest=digest).exists() or is_held(company, digest, now):
        return
    evidence_store().delete(name_of(company, digest))
    EvidenceRemoval.objects.create(
        id=new_id(now), company_id=company, deletion_id=deletion, digest=digest, removed_at=now
    )
