"""Every reading of a job: as it was typed, what it came to, the state of its gauge then, the shape behind it."""

from collections.abc import Iterator
from dataclasses import asdict
from fractions import Fraction
from typing import Any
from uuid import UUID

from inspections.domain.gauge_demand import demand_on_gauge
from inspections.domain.instruments import InstrumentFacts, instrument_state
from inspections.domain.quantities import shown_number
from inspections.domain.typed_reading import TypedReading
from inspections.queries.judgement_views import geometry_document, judgement_document
from jobs.domain.bench import Bench
from jobs.domain.entry import AmendmentBody, Entry
from jobs.domain.judged_reading import judgement_of
from jobs.domain.procedure import Procedure, ReadingSpec
from jobs.domain.receipt import utc_text
from shops.queries.page import PageAsk, Rows
from shops.queries.prepared import run

_WITH_READINGS = """
SELECT position, id FROM entries
WHERE company_id = %s AND job_id = %s AND position > %s AND payload::jsonb @? '$.**.readings[0]'
ORDER BY position LIMIT %s
"""


def job_readings(company: UUID, job: UUID, bench: Bench, ask: PageAsk, unit: str | None) -> Rows:
    """The readings of a page of entries, in the order of the chain. `unit` is the reader's."""
    after = ask.after[0] if ask.after else 0
    rows = run(_WITH_READINGS, (company, job, after, ask.limit + 1))
    page = rows[: ask.limit]
    items = [item for position, entry in page for item in _of_entry(bench, position, bench.entries[entry], unit)]
    return Rows(items, (page[-1][0],) if len(rows) > ask.limit else None)


def _of_entry(bench: Bench, position: int, entry: Entry, unit: str | None) -> Iterator[dict[str, Any]]:
    body: Any = entry.body.body if isinstance(entry.body, AmendmentBody) else entry.body
    for typed in body.readings:
        yield {
            "entry": entry.id,
            "position": position,
            "kind": entry.kind.value,
            "amends": entry.body.amends if isinstance(entry.body, AmendmentBody) else None,
            "by": bench.initials(entry.technician),
            "performed_at": utc_text(bench.times[entry.id]),
            "credit": bench.outcomes[entry.id].credit,
            "reason": getattr(body, "reason", None),
            "step": body.step,
            **_of_reading(bench, entry, body.step, typed, unit),
        }


def _of_reading(bench: Bench, entry: Entry, step: str, typed: TypedReading, unit: str | None) -> dict[str, Any]:
    spec = _spec(bench, entry, step, typed)
    gauge = bench.facts.instruments.get(typed.instrument or "")
    governing = bench.measured.get((step, typed.characteristic))
    governs = governing is not None and governing.entry == entry.id
    judgement = judgement_of(spec, typed, gauge) if spec else None
    return {
        "characteristic": typed.characteristic,
        "title": spec.characteristic.title if spec else None,
        "governs": governs,
        "typed": _typed(typed),
        "instrument": _gauge(bench, entry, spec, gauge, typed, judgement.value if judgement else None),
        "judgement": judgement_document(judgement, unit) if judgement else None,
        "doubt": governing.doubt.reason if governing and governs and governing.doubt else None,
        "geometry": geometry_document(spec.characteristic, typed) if spec else None,
        "corrections": _corrections(bench, step, typed.characteristic),
    }


def _spec(bench: Bench, entry: Entry, step: str, typed: TypedReading) -> ReadingSpec | None:
    """What the entry was made under: a job may have been moved to another revision since."""
    digest = entry.signed.procedure
    procedure: Procedure | None = bench.procedure
    if digest != bench.procedure.digest:
        procedure = bench.facts.procedures.get(digest, bench.procedure)
    found = procedure.by_key.get(step) if procedure else None
    return found.reading(typed.characteristic) if found else None


def _typed(typed: TypedReading) -> dict[str, Any]:
    found = asdict(typed)
    return {name: found[name] for name in ("values", "grid", "bore", "state", "plate_temperature", "air_temperature")}


def _gauge(
    bench: Bench,
    entry: Entry,
    spec: ReadingSpec | None,
    gauge: InstrumentFacts | None,
    typed: TypedReading,
    value: Fraction | None,
) -> dict[str, Any] | None:
    """The gauge as it stood when it was used, whatever was found later."""
    if gauge is None or spec is None:
        return None
    read = demand_on_gauge(spec.characteristic, typed, value, gauge)
    state = instrument_state(gauge, bench.times[entry.id], spec.characteristic.instruments, read)
    return {
        "code": gauge.code,
        "kind": gauge.kind.value,
        "status": state.status.value,
        "trusted": state.trusted,
        "message": state.message,
        "uncertainty": shown_number(gauge.uncertainty, None),
        "unit": gauge.unit,
    }


def _corrections(bench: Bench, step: str, characteristic: str) -> list[dict[str, Any]]:
    return [
        {"entry": done.entry, "correction": done.correction, "by": bench.initials(done.person), "at": utc_text(done.at)}
        for done in bench.corrected.get((step, characteristic), ())
    ]
