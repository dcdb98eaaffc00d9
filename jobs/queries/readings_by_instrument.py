"""Every reading taken with an instrument in a span of time, with the release that rests on it."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson
from django.db import connection

from inspections.domain.found_bad import UsedReading
from inspections.domain.instruments import InstrumentFacts
from inspections.domain.judging import judge
from inspections.domain.typed_reading import TypedReading
from jobs.domain.entry import AmendmentBody
from jobs.domain.entry_payload import read_entry
from jobs.domain.procedure import Procedure
from jobs.domain.reading_act import uncertainty_of
from jobs.queries.procedures import parsed

# The whole payload is searched, so that a reading inside a cycle, a step or an amendment is found too.
_READINGS = """
SELECT e.id, e.job_id, e.payload, e.performed_at + e.skew_ms * interval '1 millisecond', p.canonical, p.digest,
       j.purpose, CASE WHEN c.credit THEN r.id END
FROM entries e
JOIN jobs j ON j.company_id = e.company_id AND j.id = e.job_id
JOIN procedure_revisions p ON p.company_id = j.company_id AND p.id = j.procedure_id
LEFT JOIN entry_credits c ON c.company_id = e.company_id AND c.entry_id = e.id
LEFT JOIN releases r ON r.company_id = e.company_id AND r.job_id = e.job_id
WHERE e.company_id = %(company)s
  AND (%(since)s::timestamptz IS NULL OR e.performed_at + e.skew_ms * interval '1 millisecond' >= %(since)s)
  AND (%(until)s::timestamptz IS NULL OR e.performed_at + e.skew_ms * interval '1 millisecond' <= %(until)s)
  AND jsonb_path_exists(e.payload::jsonb, '$.**.instrument ? (@ == $code)', jsonb_build_object('code', %(code)s::text))
ORDER BY 4, e.id
"""


def readings_by_instrument(
    company: UUID, instrument: InstrumentFacts, since: datetime | None, until: datetime | None
) -> list[UsedReading]:
    """Readings that gave a value, in the order of the work; both ends of the span count, None is open."""
    parameters = {"company": company, "since": since, "until": until, "code": instrument.code}
    with connection.cursor() as cursor:
        cursor.execute(_READINGS, parameters)
        rows = cursor.fetchall()
    return [reading for row in rows for reading in _used(instrument, *row)]


def _used(
    instrument: InstrumentFacts,
    entry: UUID,
    job: UUID,
    payload: str,
    at: datetime,
    canonical: str,
    digest: str,
    purpose: str,
    release: UUID | None,
) -> Iterator[UsedReading]:
    procedure = parsed(canonical, digest, purpose)
    for step, typed in _typed(payload):
        found = _judged(procedure, instrument, step, typed)
        if found is not None:
            characteristic, value, uncertainty = found
            yield UsedReading(
                str(entry), str(job), characteristic, value, uncertainty, at, str(release) if release else None
            )


def _typed(payload: str) -> Iterator[tuple[str, TypedReading]]:
    body: Any = read_entry(orjson.loads(payload)).body
    if isinstance(body, AmendmentBody):
        body = body.body
    for typed in getattr(body, "readings", ()):
        yield body.step, typed


def _judged(procedure: Procedure, instrument: InstrumentFacts, step_key: str, typed: TypedReading) -> Any:
    step = procedure.by_key.get(step_key)
    spec = step.reading(typed.characteristic) if step and typed.instrument == instrument.code else None
    if spec is None:
        return None
    uncertainty = uncertainty_of(instrument, spec)
    value = judge(spec.characteristic, typed, uncertainty).value
    return None if value is None else (spec.characteristic, value, uncertainty)
