"""The entered company's kits by serial, each read with its movements and recalls when a job first asks for it.

A company receives tens of thousands of kits in its life, and a job asks for one: reading all of them with the other
facts would cost more with every year.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson
from django.db import connection

from jobs.domain.facts import KitFacts, KitMove, RecallFact

_KIT = """
SELECT k.serial, k.lot, k.coupling, k.lines::text,
  (SELECT COALESCE(json_agg(json_build_array(m.kind, m.moved_at, m.job) ORDER BY m.moved_at, m.id), '[]')
   FROM kit_movements m WHERE m.company_id = k.company_id AND m.kit_id = k.id)::text,
  (SELECT COALESCE(json_agg(json_build_array(r.id, d.decided_at, r.reason) ORDER BY d.decided_at, r.id), '[]')
   FROM recall_outcomes o JOIN recalls r ON r.company_id = o.company_id AND r.id = o.recall_id
   JOIN recall_decisions d ON d.company_id = r.company_id AND d.recall_id = r.id AND d.kind = 'published'
   WHERE o.company_id = k.company_id AND o.kit_id = k.id)::text
FROM kits k WHERE k.serial = %s
"""


class KitsOnRecord(Mapping[str, KitFacts]):
    """What is read once stays as it was read: a new movement or recall comes with a new version of the facts."""

    def __init__(self) -> None:
        self._read: dict[str, KitFacts | None] = {}

    def __getitem__(self, serial: str) -> KitFacts:
        if serial not in self._read:
            self._read[serial] = _kit(serial)
        found = self._read[serial]
        if found is None:
            raise KeyError(serial)
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(_serials())

    def __len__(self) -> int:
        return len(_serials())


def _kit(serial: str) -> KitFacts | None:
    with connection.cursor() as cursor:
        cursor.execute(_KIT, [serial])
        row = cursor.fetchone()
    return None if row is None else _facts(row)


def _facts(row: tuple[Any, ...]) -> KitFacts:
    serial, lot, coupling, lines, moves, recalls = row
    return KitFacts(
        serial,
        lot,
        coupling,
        frozenset(orjson.loads(lines)),
        tuple(KitMove(kind, datetime.fromisoformat(at), _id(job)) for kind, at, job in orjson.loads(moves)),
        tuple(RecallFact(UUID(r), datetime.fromisoformat(at), reason) for r, at, reason in orjson.loads(recalls)),
    )


def _id(text: str | None) -> UUID | None:
    return None if text is None else UUID(text)


def _serials() -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT serial FROM kits ORDER BY serial")
        return [row[0] for row in cursor.fetchall()]
