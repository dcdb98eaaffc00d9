"""Notes where a phone signed one number on two jobs: a fact by which both are judged again.

Each of two entries that two requests record at once may be blind to the other. The sequencer sees all of them,
committed, one company's at a time; so it is the one that looks.
"""

from collections.abc import Sequence
from typing import Any, Final
from uuid import UUID

from django.db import connection

from jobs.models.device_fork import DeviceFork
from shops.services.new_id import new_id

# LATERAL, fenced, reads each entry and its twins by their keys, whatever the planner believes of a table that grew.
_TWINS: Final = """
SELECT e.key, e.device_seq, e.received_at, e.id, e.job_id, o.received_at, o.id, o.job_id
FROM unnest(%(entries)s::uuid[]) AS placed(id)
CROSS JOIN LATERAL (
  SELECT id, job_id, key, device_seq, received_at FROM entries
  WHERE company_id = %(company)s AND id = placed.id LIMIT 1) e
CROSS JOIN LATERAL (
  SELECT id, job_id, received_at FROM entries
  WHERE company_id = %(company)s AND key = e.key AND device_seq = e.device_seq AND job_id <> e.job_id OFFSET 0) o
"""


def note_forks(*, company: UUID, entries: Sequence[UUID]) -> None:
    """Of `entries` and whatever the record has beside them. One statement where there is nothing to note."""
    with connection.cursor() as cursor:
        cursor.execute(_TWINS, {"company": company, "entries": list(entries)})
        forks = {(fork.first_id, fork.second_id): fork for fork in (_fork(company, *row) for row in cursor.fetchall())}
    if forks:
        DeviceFork.objects.bulk_create(forks.values(), ignore_conflicts=True)  # the twin may have been placed before


def _fork(company: UUID, key: str, number: int, *entries: Any) -> DeviceFork:
    """The fork of two entries, each given by its arrival, id and job; the one that came in first is the first."""
    first, second = sorted((entries[:3], entries[3:]))
    return DeviceFork(
        company_id=company,
        id=new_id(second[0]),
        key=key,
        number=number,
        first_id=first[1],
        first_job_id=first[2],
        second_id=second[1],
        second_job_id=second[2],
        since=second[0],
    )
