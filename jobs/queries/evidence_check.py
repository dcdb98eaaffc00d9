"""Every stored file of a company held against its digest: what is missing, and what is not what it was."""

from collections.abc import Iterator
from typing import Final
from uuid import UUID

from django.db import connection, transaction

from jobs.domain.record_fault import Fault, FaultCode
from jobs.queries.evidence_store import digest_in_store
from shops.queries.access import enter_company

_TABLE: Final = "evidence_files"
_FILES: Final = """
SELECT f.id, f.digest, r.id IS NOT NULL FROM evidence_files f
LEFT JOIN evidence_removals r ON r.company_id = f.company_id AND r.digest = f.digest
WHERE f.company_id = %s ORDER BY f.received_at, f.id
"""


def evidence_check(company: UUID) -> Iterator[Fault]:
    """Every fault, found as it goes. The files are read after the list of them, without a transaction open."""
    for row, digest, was_removed in _files(company):
        found = digest_in_store(company, digest)
        if was_removed:
            if found is not None:
                yield Fault(FaultCode.FILE_NOT_REMOVED, _TABLE, row, f"the file {digest} was deleted, and is there")
        elif found is None:
            yield Fault(FaultCode.FILE_GONE, _TABLE, row, f"the file {digest} is not in the store")
        elif found != digest:
            yield Fault(FaultCode.FILE_CHANGED, _TABLE, row, f"the stored file {digest} has the digest {found}")


@transaction.atomic
def _files(company: UUID) -> list[tuple[UUID, str, bool]]:
    enter_company(company)
    with connection.cursor() as cursor:
        cursor.execute(_FILES, [company])
        return [(row[0], row[1], row[2]) for row in cursor.fetchall()]
