"""`derive_state`: what a job's entries have earned, as a pure fold in act order.

The same function runs on the server, in a test and in an auditor's offline verifier. A prefix of the entries
never depends on what follows it; folding all at once and one by one give the same state.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from uuid import UUID

from jobs.domain.act import Act
from jobs.domain.act_order import Place, as_datetime, in_act_order, place_at_end
from jobs.domain.bench import Bench, Outcome
from jobs.domain.effects import apply
from jobs.domain.entry import AmendmentBody, CorrectionBody, CycleBody, Entry, EntryKind
from jobs.domain.facts import Facts
from jobs.domain.job_state import JobState, state_of
from jobs.domain.procedure import Procedure, Scope


def derive_state(procedure: Procedure, entries: Iterable[Entry], facts: Facts) -> JobState:
    """The state that `entries`, in whatever order they arrived, give a job pinned to `procedure`."""
    return state_of(fold(procedure, entries, facts).bench)


def fold(procedure: Procedure, entries: Iterable[Entry], facts: Facts) -> "Fold":
    """A fold that has taken in `entries` and can take more."""
    folded = Fold(Bench(procedure, facts))
    for place in in_act_order(entries):
        folded.advance(place)
    return folded


@dataclass(slots=True)
class Fold:
    """A running fold: the bench, and the places of the entries taken in so far."""

    bench: Bench
    ordered: list[Place] = field(default_factory=list)

    def advance(self, place: Place) -> None:
        """Take in the next entry of the act order."""
        self.ordered.append(place)
        apply(self.bench, act_of(self.bench, place))

    def add(self, entry: Entry) -> Outcome:
        """Take in one more entry, wherever its place is; its outcome.

        At the end of the act order that costs one step; in the middle everything after it is derived anew.
        """
        place = place_at_end(self.ordered, entry)
        if place is not None:
            self.advance(place)
        else:
            self._again([*(at.entry for at in self.ordered), entry])
        return self.bench.outcomes[entry.id]

    def _again(self, entries: list[Entry]) -> None:
        before = self.bench
        self.bench = Bench(before.procedure, before.facts)
        self.ordered = []
        for place in in_act_order(entries):
            self.advance(place)
        self.bench.changed = before.changed | _differences(before.outcomes, self.bench.outcomes)

    def copy(self) -> "Fold":
        return Fold(self.bench.copy(), list(self.ordered))


def _differences(before: dict[UUID, Outcome], now: dict[UUID, Outcome]) -> set[UUID]:
    return {entry for entry, outcome in now.items() if before.get(entry) != outcome}


def act_of(bench: Bench, place: Place) -> Act:
    """The entry as the rules see it; an amendment is judged as what it says the entry should have said."""
    entry = place.entry
    kind, body, redo = entry.kind, entry.body, entry.kind is EntryKind.REWORK
    if isinstance(body, AmendmentBody):
        kind, body, redo = body.kind, body.body, True
    key = getattr(body, "step", None)
    step = bench.step(key) if key else None
    scope = _scope(bench, kind, body) if step is None or isinstance(body, CorrectionBody) else step.scope
    if isinstance(body, CycleBody):
        scope = Scope.VERIFY
    person = bench.facts.people.get(entry.technician)
    initials = person.initials if person else "Somebody unknown"
    return Act(entry, kind, body, step, scope, as_datetime(place.at), initials, redo)


def _scope(bench: Bench, kind: EntryKind, body: object) -> Scope | None:
    if isinstance(body, CorrectionBody):
        step = bench.step(body.step)
        spec = step.reading(body.characteristic) if step else None
        named = [c for c in spec.corrections if c.key == body.correction] if spec else []
        return named[0].qualification if named else Scope.REBUILD
    if kind in {EntryKind.RELEASE, EntryKind.CLEAR, EntryKind.MOVE}:
        return Scope.RELEASE
    return None
