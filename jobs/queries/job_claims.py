"""Claims on a job as leads see them: whose phone, since when, and who ended it why."""

from typing import Final
from uuid import UUID

from shops.queries.page import Condition, KeyKind, Listing, OrderColumn, PageAsk, Rows, fetch_page

CLAIMS: Final = Listing(
    """
SELECT c.id, c.job_id AS job, c.key, c.claimed_at, t.initials, e.ended_at, e.recorded_by AS ended_by, e.last_sequence,
       e.reason
FROM claims c
JOIN device_keys k ON k.company_id = c.company_id AND k.thumbprint = c.key
JOIN technicians t ON t.company_id = k.company_id AND t.id = k.technician_id
LEFT JOIN claim_ends e ON e.company_id = c.company_id AND e.claim_id = c.id""",
    (OrderColumn("c.claimed_at", "claimed_at", KeyKind.TIME), OrderColumn("c.id", "id", KeyKind.ID)),
)


def job_claims(job: UUID, ask: PageAsk) -> Rows:
    """A page of a job's claims, oldest first; the caller has looked whether the token reaches the job."""
    return fetch_page(CLAIMS, [Condition("c.job_id = %s", (job,))], ask)
