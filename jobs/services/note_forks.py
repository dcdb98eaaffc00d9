"""Notes where a phone signed one number on two jobs: a fact by which both are judged again.

Each of two entries that two requests record at once may be blind to the other. The sequencer sees all of them,
committed, one company's at a time; so it is the one that looks.
"""

from collections.abc import Sequence
from typing import Final
from uuid import UUID

from django.db import connection

from jobs.models.device_fork import DeviceFork
from shops.services.new_id import new_id

_FORKS: Final = """
SELECT DISTINCT e.key, e.device_seq, a.id, a.job_id, b.id, b.job_id, b.received_at
FROM unnest(%(entries)s::uuid[]) AS placed(id)
JOIN entries e ON e.company_id = %(company)s AND e.id = placed.id
JOIN entries o ON o.company_id = e.company_id AND o.key = e.key AND o.device_seq = e.device_seq AND o.job_id <> e.job_id
JOIN entries a ON a.company_id = e.company_id
  AND a.id = CASE WHEN (o.received_at, o.id) < (e.received_at, e.id) THEN o.id ELSE e.id END
JOIN entries b ON b.company_id = e.company_id AND b.id = CASE WHEN a.id = e.id THEN o.id ELSE e.id END
WHERE NOT EXISTS (SELECT FROM device_forks f
                  WHERE f.company_id = e.company_id AND f.first_id = a.id AND f.second_id = b.id)
"""


def note_forks(*, company: UUID, entries: Sequence[UUID]) -> None:
    """Of `entries` and whatever the record has beside them. One statement where there is nothing to note."""
    with connection.cursor() as cursor:
        cursor.execute(_FORKS, {"company": company, "entries": list(entries)})
        found = cursor.fetchall()
    for key, number, first, first_job, second, second_job, since in found:
        DeviceFork.objects.create(
            company_id=company,
            id=new_id(since),
            key=key,
            number=number,
            first_id=first,
            first_job_id=first_job,
            second_id=second,
            second_job_id=second_job,
            since=since,
        )
