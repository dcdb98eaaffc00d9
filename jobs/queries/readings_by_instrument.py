"""Everything done with an instrument in a span of time, with the release that rests on it.

A release rests on the reading that governs its characteristic. That is asked of the job folded as if the doubt had
never come up: what the doubt itself took away from the job must not hide what rested on it.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

import orjson
from django.db import connection

from inspections.domain.characteristic import Method
from inspections.domain.found_bad import FoundBad, UsedReading
from inspections.domain.instruments import Calibration, InstrumentFacts
from inspections.domain.judging import judge
from inspections.domain.measurement import in_contact
from inspections.domain.typed_reading import TypedReading
from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody
from jobs.domain.entry_payload import read_entry
from jobs.domain.facts import Facts
from jobs.domain.fold import fold
from jobs.domain.other_uses import OtherUse, uses_in
from jobs.domain.procedure import Procedure
from jobs.domain.reading_act import uncertainty_of
from jobs.queries.job_entries import entries_after
from jobs.queries.procedures import parsed, procedure_of

# The whole payload is searched, so that a reading inside a cycle, a step or an amendment is found too.
_READINGS = """
SELECT e.id, e.job_id, e.payload, e.performed_at + e.skew_ms * interval '1 millisecond', p.digest, j.purpose,
       q.canonical, q.digest, r.id
FROM entries e
JOIN jobs j ON j.company_id = e.company_id AND j.id = e.job_id
JOIN procedure_revisions p ON p.company_id = j.company_id AND p.id = j.procedure_id
LEFT JOIN procedure_revisions q ON q.company_id = e.company_id AND q.digest = e.payload::jsonb->>'procedure'
LEFT JOIN releases r ON r.company_id = e.company_id AND r.job_id = e.job_id
WHERE e.company_id = %(company)s
  AND (%(since)s::timestamptz IS NULL OR e.performed_at + e.skew_ms * interval '1 millisecond' >= %(since)s)
  AND (%(until)s::timestamptz IS NULL OR e.performed_at + e.skew_ms * interval '1 millisecond' <= %(until)s)
  AND jsonb_path_exists(e.payload::jsonb, '$.**.instrument ? (@ == $code)', jsonb_build_object('code', %(code)s::text))
ORDER BY 4, e.id
"""


class _Row(NamedTuple):
    entry: UUID
    job: UUID
    payload: str
    at: datetime
    opened_with: str
    purpose: str
    canonical: str | None  # of the revision that the entry names, if it was published
    digest: str | None
    release: UUID | None


class Doubted(NamedTuple):
    """What was done with an instrument that was found bad: readings that can be judged anew, and other uses."""

    readings: list[UsedReading]
    uses: list[OtherUse]


def doubted_by(
    company: UUID, instrument: InstrumentFacts, found: FoundBad, check: Calibration, facts: Facts
) -> Doubted:
    """All that is in doubt, in the order of the work; `check` is what found the instrument bad."""
    since, until = found.last_good_at, found.until
    with connection.cursor() as cursor:
        cursor.execute(_READINGS, {"company": company, "since": since, "until": until, "code": instrument.code})
        rows = [_Row(*row) for row in cursor.fetchall()]
    trusting = _without(check, instrument, facts)
    benches = {row.job: _bench(company, row, trusting) for row in rows if row.release is not None}
    readings: list[UsedReading] = []
    uses: list[OtherUse] = []
    for row in rows:
        body, bench = _body(row), benches.get(row.job)
        readings += _used(instrument, row, body, bench)
        release = str(row.release) if bench is not None and bench.outcomes[row.entry].credit else None
        uses += uses_in(body, found, str(row.entry), str(row.job), row.at, release)
    return Doubted(readings, uses)


def _without(check: Calibration, instrument: InstrumentFacts, facts: Facts) -> Facts:
    others = tuple(one for one in instrument.calibrations if one is not check)
    trusted = replace(instrument, calibrations=others)
    return replace(facts, instruments={**facts.instruments, instrument.code: trusted})


def _bench(company: UUID, row: _Row, facts: Facts) -> Bench:
    entries, _ = entries_after(company, row.job, 0)
    return fold(procedure_of(row.opened_with, row.purpose), entries, facts).bench


def _body(row: _Row) -> Any:
    body = read_entry(orjson.loads(row.payload)).body
    return body.body if isinstance(body, AmendmentBody) else body


def _used(instrument: InstrumentFacts, row: _Row, body: Any, bench: Bench | None) -> Iterator[UsedReading]:
    procedure = _procedure(row)
    for typed in getattr(body, "readings", ()):
        found = _judged(procedure, instrument, body.step, typed)
        if found is not None:
            characteristic, value, uncertainty = found
            release = str(row.release) if bench and _governs(bench, row.entry, body.step, typed) else None
            ids, touching = (str(row.entry), str(row.job)), in_contact(typed)
            yield UsedReading(*ids, characteristic, value, uncertainty, row.at, release, touching)


def _governs(bench: Bench, entry: UUID, step: str, typed: TypedReading) -> bool:
    found = bench.measured.get((step, typed.characteristic))
    return found is not None and found.counts and found.entry == entry


def _procedure(row: _Row) -> Procedure:
    """The revision that the entry was made under: a job may have been moved since it was opened."""
    if row.canonical is None or row.digest is None:
        return procedure_of(row.opened_with, row.purpose)
    return parsed(row.canonical, row.digest, row.purpose)


def _judged(procedure: Procedure, instrument: InstrumentFacts, step_key: str, typed: TypedReading) -> Any:
    """Characteristic, value and its uncertainty; None for what is not of this instrument or gave no value."""
    step = procedure.by_key.get(step_key)
    spec = step.reading(typed.characteristic) if step and typed.instrument == instrument.code else None
    if spec is None:
        return None
    found = judge(spec.characteristic, typed, uncertainty_of(instrument, spec))
    uncertainty = found.account.uncertainty
    known = uncertainty is not None or spec.characteristic.method is Method.COUNT
    return (spec.characteristic, found.value, uncertainty) if known and found.value is not None else None
