"""Is there room for more evidence? Limits that the operator sets for each job and each company.

What several phones send in the same moment is not held against each other: together they can go over a limit by what
one request of each brings. A lock would let one phone wait for the other's file.
"""

from typing import Final
from uuid import UUID

from django.conf import settings

from jobs.queries.evidence_room import EvidenceKept, evidence_kept
from shops.domain.errors import EvidenceFull, FieldProblem

_RAISE: Final = "Keep the file on the phone, and have the operator raise {setting} or let files go that may go."


def require_room(company: UUID, job: UUID, more: int) -> None:
    """Raises EvidenceFull, naming the limit, if `more` bytes for the job would go over one. The company is entered."""
    kept: EvidenceKept = evidence_kept(company, job)
    for of, used, limit, setting in (
        ("job", kept.of_job, settings.EVIDENCE_JOB_LIMIT, "REBUILD_EVIDENCE_JOB_LIMIT"),
        ("company", kept.of_company, settings.EVIDENCE_COMPANY_LIMIT, "REBUILD_EVIDENCE_COMPANY_LIMIT"),
    ):
        if used + more > limit:
            detail = f"The {of} has {used} bytes of evidence; with {more} more it would be over the limit of {limit}."
            problem = FieldProblem("", detail, _RAISE.format(setting=setting))
            raise EvidenceFull(detail, problems=[problem], members={"of": of, "limit": limit, "used": used})
