"""The readings and corrections of each characteristic, in the order of the acts, judged as they were under their own
revision and gauge.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from uuid import UUID

from inspections.domain.instruments import InstrumentFacts
from inspections.domain.judging import Judgement
from inspections.domain.typed_reading import TypedReading
from jobs.domain.entry import CorrectionBody, Entry
from jobs.domain.judged_reading import judgement_of
from jobs.domain.procedure import Procedure, ReadingSpec
from jobs.printed_record.contents import Contents, said


@dataclass(frozen=True, slots=True)
class ReadingSeen:
    """One reading, what it comes to, and what it is among the others: as found, after a correction, as left."""

    entry: Entry
    at: tuple[str, str]  # the step and the characteristic
    typed: TypedReading
    gauge: InstrumentFacts | None
    judgement: Judgement
    role: str
    governs: bool


@dataclass(frozen=True, slots=True)
class CorrectionSeen:
    entry: Entry
    body: CorrectionBody
    title: str
    number: int | None  # among those with credit


@dataclass(slots=True)
class Group:
    """A characteristic of a step, and what became of it."""

    step: str
    spec: ReadingSpec
    acts: list[ReadingSeen | CorrectionSeen] = field(default_factory=list)

    @property
    def readings(self) -> list[ReadingSeen]:
        return [act for act in self.acts if isinstance(act, ReadingSeen)]


def groups_of(contents: Contents) -> list[Group]:
    """All characteristics of the job's revision, read or not; behind them those that only an earlier one had."""
    bench = contents.bench
    groups = {(step.key, spec.key): Group(step.key, spec) for step in bench.procedure.steps for spec in step.readings}
    raw: dict[tuple[str, str], list[tuple[Entry, TypedReading | CorrectionBody, ReadingSpec]]] = {}
    for entry in contents.acts:
        for at, item, spec in _of_entry(contents, entry):
            groups.setdefault(at, Group(at[0], spec))
            raw.setdefault(at, []).append((entry, item, spec))
    for at, items in raw.items():
        groups[at].acts = _acts(contents, at, items)
    return list(groups.values())


def _of_entry(
    contents: Contents, entry: Entry
) -> Iterator[tuple[tuple[str, str], TypedReading | CorrectionBody, ReadingSpec]]:
    _, body = said(entry)
    step = getattr(body, "step", None)
    items = [body] if isinstance(body, CorrectionBody) else getattr(body, "readings", ())
    for item in items:
        spec = _spec(contents, entry, step or "", item.characteristic)
        if spec is not None and step is not None:
            yield (step, item.characteristic), item, spec


def _spec(contents: Contents, entry: Entry, step: str, characteristic: str) -> ReadingSpec | None:
    """By the revision that the entry was made under; a job may have been moved since."""
    bench = contents.bench
    own = bench.facts.procedures.get(entry.signed.procedure)
    for procedure in (own, contents.folded.opened_with, bench.procedure):
        found = _in(procedure, step, characteristic)
        if found is not None:
            return found
    return None


def _in(procedure: Procedure | None, step: str, characteristic: str) -> ReadingSpec | None:
    found = procedure.by_key.get(step) if procedure else None
    return found.reading(characteristic) if found else None


def _acts(
    contents: Contents, at: tuple[str, str], items: list[tuple[Entry, TypedReading | CorrectionBody, ReadingSpec]]
) -> list[ReadingSeen | CorrectionSeen]:
    governing = contents.bench.measured.get(at)
    last = governing.entry if governing else None
    made: list[ReadingSeen | CorrectionSeen] = []
    counted = 0
    for place, (entry, item, spec) in enumerate(items):
        if isinstance(item, CorrectionBody):
            credit = contents.bench.outcomes[entry.id].credit
            counted += credit
            made.append(CorrectionSeen(entry, item, _title(spec, item), counted if credit else None))
            continue
        gauge = contents.bench.facts.instruments.get(item.instrument or "")
        governs = entry.id == last
        role = _role(contents, items, place, counted, last)
        made.append(ReadingSeen(entry, at, item, gauge, judgement_of(spec, item, gauge), role, governs))
    return made


def _title(spec: ReadingSpec, body: CorrectionBody) -> str:
    named = [one.title for one in spec.corrections if one.key == body.correction]
    return named[0] if named else body.correction


def _role(
    contents: Contents,
    items: list[tuple[Entry, TypedReading | CorrectionBody, ReadingSpec]],
    place: int,
    counted: int,
    last: UUID | None,
) -> str:
    """What a reading is among the others: as found, before or after a correction, as left."""
    entry = items[place][0]
    roles = []
    if not any(isinstance(item, TypedReading) for _, item, _ in items[:place]):
        roles.append("as found")
    if place and isinstance(items[place - 1][1], CorrectionBody) and counted:
        roles.append(f"after correction {counted}")
    following = items[place + 1][0] if place + 1 < len(items) else None
    corrected = following is not None and isinstance(items[place + 1][1], CorrectionBody)
    if corrected and following is not None and contents.bench.outcomes[following.id].credit:
        roles.append(f"before correction {counted + 1}")
    if entry.id == last:
        roles.append("as left")
    return "as found and left" if roles == ["as found", "as left"] else ", ".join(roles) or "again"
