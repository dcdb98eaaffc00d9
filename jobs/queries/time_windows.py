"""When a job's entries were signed, as far as checkpoints show it. The company is entered; three queries."""

from collections.abc import Mapping
from typing import Final
from uuid import UUID

from django.db import connection

from jobs.domain.seen_checkpoint import SeenCheckpoint
from jobs.domain.signed_note import NoteKey, read_note_key
from jobs.domain.time_window import SignedSize, TimeWindow, signed_size, time_window
from jobs.queries.log import NOTE

_PLACES: Final = """
SELECT row_id, "index" FROM log_leaves
WHERE company_id = %s AND table_name = 'entries' AND row_id = ANY(%s)
"""
AROUND: Final = """size IN (
  SELECT c.size FROM unnest(%(indexes)s::bigint[]) AS w("index") CROSS JOIN LATERAL (
    SELECT size FROM checkpoints WHERE company_id = %(company)s AND size > w."index" ORDER BY size LIMIT 1) c
  UNION SELECT c.size FROM unnest(%(indexes)s::bigint[]) AS w("index") CROSS JOIN LATERAL (
    SELECT size FROM checkpoints WHERE company_id = %(company)s AND size > w."index"
      AND EXISTS (SELECT FROM cosignatures s WHERE s.company_id = checkpoints.company_id
                  AND s.checkpoint_id = checkpoints.id) ORDER BY size LIMIT 1) c
  UNION SELECT unnest(%(named)s::bigint[]))"""
"""Which checkpoints give leaves their time: the first over each, the first over each that a witness cosigned, and those
of the sizes that entries name."""
_AROUND: Final = f"SELECT {NOTE} FROM checkpoints WHERE company_id = %(company)s AND {AROUND}"
_WITNESSES: Final = "SELECT vkey FROM witness_keys WHERE company_id = %s ORDER BY id"


def witness_keys(company: UUID) -> list[NoteKey]:
    """The keys whose cosignatures the company keeps."""
    with connection.cursor() as cursor:
        cursor.execute(_WITNESSES, [company])
        return [read_note_key(vkey) for (vkey,) in cursor.fetchall()]


def time_windows(company: UUID, seen: Mapping[UUID, SeenCheckpoint | None]) -> dict[UUID, TimeWindow]:
    """The window of each entry, by what it says that its phone had seen."""
    if not seen:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(_PLACES, [company, list(seen)])
        places = dict(cursor.fetchall())
    around = _around(company, list(places.values()), [one.size for one in seen.values() if one is not None])
    return {entry: time_window(named, places.get(entry), around) for entry, named in seen.items()}


def _around(company: UUID, indexes: list[int], named: list[int]) -> list[SignedSize]:
    witnesses = witness_keys(company)
    with connection.cursor() as cursor:
        cursor.execute(_AROUND, {"company": company, "indexes": sorted(set(indexes)), "named": sorted(set(named))})
        read = [signed_size(note.encode(), witnesses) for (note,) in cursor.fetchall()]
    return [one for one in read if one is not None]


def seen_of(payload: Mapping[str, object]) -> SeenCheckpoint | None:
    """What a stored payload names; it was read strictly when it came in."""
    seen = payload.get("seen_checkpoint")
    if not isinstance(seen, dict):
        return None
    return SeenCheckpoint(seen["size"], seen["root"], seen.get("cosignature"))
