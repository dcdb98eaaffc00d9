"""`derive_state`: what a job's entries have earned, as a pure fold in act order.

The same function runs on the server, in a test and in an auditor's offline verifier. A prefix of the entries
never depends on what follows it; folding all at once and one by one give the same state.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from jobs.domain.act import Act
from jobs.domain.act_order import Place, as_datetime, in_act_order, place_at_end
from jobs.domain.bench import Bench
from jobs.domain.effects.applying import apply
from jobs.domain.entry import AmendmentBody, CorrectionBody, CycleBody, Entry, EntryKind, SignedEntry, StepBody
from jobs.domain.facts import Facts
from jobs.domain.job_state import JobState, state_of
from jobs.domain.procedure import Procedure, Scope, Step
from jobs.domain.remembered import Outcome
from jobs.domain.rules.r113_amends_nothing import said_by


def derive_state(procedure: Procedure, entries: Iterable[Entry], facts: Facts) -> JobState:
    """The state that `entries`, in whatever order they arrived, give a job pinned to `procedure`."""
    return state_of(fold(procedure, entries, facts).bench)


def fold(procedure: Procedure, entries: Iterable[Entry], facts: Facts) -> "Fold":
    """A fold that has taken in `entries` and can take more. `procedure` is what the job was opened with."""
    folded = Fold(Bench(procedure, facts))
    for place in in_act_order(entries):
        folded.advance(place)
    return folded


@dataclass(slots=True)
class Fold:
    """A running fold: the bench, and the places of the entries taken in so far. Begin it with an empty bench."""

    bench: Bench
    ordered: list[Place] = field(default_factory=list)
    opened_with: Procedure = field(init=False)  # a move changes the bench's revision, not this one

    def __post_init__(self) -> None:
        self.opened_with = self.bench.procedure

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
        self.bench = Bench(self.opened_with, before.facts)
        self.ordered = []
        for place in in_act_order(entries):
            self.advance(place)
        self.bench.changed = before.changed | _differences(before.outcomes, self.bench.outcomes)

    def goes_on_under(self, facts: Facts) -> bool:
        """Go on with newer facts, if nothing has changed that was looked at; else nothing is done."""
        last = self.bench.last_entry
        if last is None or not facts.judges_as(self.bench.facts, last.signed.job, self._kits()):
            return False
        self.bench.facts = facts
        return True

    def _kits(self) -> dict[str, datetime | None]:
        """The kits that the entries name, by serial, with the time of the one issue that has credit."""
        bodies = (place.entry.body for place in self.ordered)
        said = (body.body if isinstance(body, AmendmentBody) else body for body in bodies)
        named = [(body.kit.serial, body.step) for body in said if isinstance(body, StepBody) and body.kit is not None]
        issues = Counter(serial for serial, step in named if self._issues_kit(step))
        issued = {kit.serial: kit.at for kit in self.bench.kits if issues[kit.serial] == 1}
        return {serial: issued.get(serial) for serial, _ in named}

    def _issues_kit(self, key: str) -> bool:
        """Whether the step issues a kit, in the job's revision or in the one that it was opened with."""
        steps = (procedure.by_key.get(key) for procedure in (self.opened_with, self.bench.procedure))
        return any(step is not None and step.issues_kit for step in steps)

    def has_step(self, signed: SignedEntry) -> bool:
        """Whether what an entry is about, if it is about a step, is one of the revision that it was made under.

        Not only of the job's own: a phone comes late, or has been told of a move before the record is. Under no
        published revision, or as the words of an amendment, it may be one of any that the job has been under.
        """
        key, made_under = signed.step, self._made_under(signed.procedure)
        if isinstance(signed.body, AmendmentBody):
            key = getattr(signed.body.body, "step", None)
            amended = self.bench.entries.get(signed.body.amends)
            if key is None or (amended is not None and getattr(said_by(amended), "step", None) == key):
                return True
        elif made_under is not None:
            return key is None or key in made_under.by_key
        known = (made_under, self.opened_with, self.bench.procedure)
        return key is None or any(key in one.by_key for one in known if one is not None)

    def _made_under(self, digest: str) -> Procedure | None:
        """The revision of this digest, if the job could be moved to it, or was opened with it."""
        for known in (self.opened_with, self.bench.procedure):
            if known.digest == digest:
                return known
        found = self.bench.facts.procedures.get(digest)
        is_one = found is not None and found.code == self.opened_with.code and self.opened_with.release_step is not None
        return found if is_one else None

    def copy(self) -> "Fold":
        """A fold that goes its own way from here."""
        copied = Fold(self.bench.copy(), list(self.ordered))
        copied.opened_with = self.opened_with
        return copied


def _differences(before: dict[UUID, Outcome], now: dict[UUID, Outcome]) -> set[UUID]:
    return {entry for entry, outcome in now.items() if before.get(entry) != outcome}


def act_of(bench: Bench, place: Place) -> Act:
    """The entry as the rules see it; an amendment is judged as what it says the entry should have said."""
    entry, placed = place.entry, as_datetime(place.at)
    kind, body, at = entry.kind, entry.body, placed
    redo = kind is EntryKind.REWORK
    if isinstance(body, AmendmentBody):
        at = bench.times.get(body.amends, placed)
        kind, body, redo = body.kind, body.body, True
    key = getattr(body, "step", None)
    step = bench.step(key) if key else None
    person = bench.facts.people.get(entry.technician)
    initials = person.initials if person else "Somebody unknown"
    return Act(entry, kind, body, step, _scope(kind, body, step), at, placed, initials, redo)


_BY_DECIDERS = frozenset({EntryKind.RELEASE, EntryKind.CLEAR, EntryKind.MOVE})


def _scope(kind: EntryKind, body: object, step: Step | None) -> Scope | None:
    """The qualification that an act needs."""
    if isinstance(body, CycleBody):
        return Scope.VERIFY
    if isinstance(body, CorrectionBody):
        return _correction_scope(body, step)
    if kind in _BY_DECIDERS:
        return Scope.RELEASE
    return step.scope if step is not None and kind in _AT_A_STEP else None


_AT_A_STEP = frozenset({EntryKind.STEP, EntryKind.REWORK, EntryKind.READING})


def _correction_scope(body: CorrectionBody, step: Step | None) -> Scope:
    spec = step.reading(body.characteristic) if step else None
    named = [correction for correction in spec.corrections if correction.key == body.correction] if spec else []
    return named[0].qualification if named else Scope.REBUILD
