"""Open follow-ups whose entries name photos, and how many of those have arrived. The company is entered."""

from typing import Final
from uuid import UUID

from django.db import connection

_OPEN: Final = """
SELECT j.id, count(DISTINCT f.digest) FROM jobs j
JOIN entries e ON e.company_id = j.company_id AND e.job_id = j.id AND e.payload LIKE '%%"evidence"%%'
CROSS JOIN LATERAL jsonb_array_elements_text(CASE jsonb_typeof(e.payload::jsonb -> 'evidence')
  WHEN 'array' THEN e.payload::jsonb -> 'evidence' ELSE '[]' END) AS n(digest)
JOIN evidence_files f ON f.company_id = j.company_id AND f.digest = n.digest
WHERE j.company_id = %s AND j.purpose = 'follow_up' AND j.state = 'open'
GROUP BY j.id ORDER BY j.id
"""


def follow_ups_with_photos(company: UUID) -> dict[UUID, int]:
    """How many of the photos named have arrived, for each open follow-up with any. One query."""
    with connection.cursor() as cursor:
        cursor.execute(_OPEN, [company])
        return dict(cursor.fetchall())
