"""A job told act by act: each act is signed by somebody, folded, and answers what it earned."""

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.entry import Entry
from jobs.domain.entry_payload import read_entry
from jobs.domain.facts import Facts, Person, Qualification, RevisionFact
from jobs.domain.fold import Fold
from jobs.domain.procedure import Procedure
from jobs.domain.remembered import Outcome
from tests.acts import SCRIPTS, Act
from tests.strategies import JOB, START, device, entry_id, person_id, shipped, world_facts

SLOW = {"strip": 45, "clean": 45, "cool": 45}
"""Minutes that the procedures give to a step."""


@dataclass(frozen=True)
class Logged:
    """One entry of the story; what it has earned is asked when it is needed, for later acts may change it."""

    entry: Entry
    story: "Story"

    @property
    def id(self) -> UUID:
        return self.entry.id

    @property
    def outcome(self) -> Outcome:
        return self.story.bench.outcomes[self.entry.id]

    @property
    def credit(self) -> bool:
        return self.outcome.credit

    @property
    def codes(self) -> set[str]:
        return {finding.code for finding in self.outcome.findings}

    @property
    def rules(self) -> set[int]:
        return {finding.rule for finding in self.outcome.findings}

    def what(self, rule: int) -> str:
        return next(finding.what for finding in self.outcome.findings if finding.rule == rule)


@dataclass
class Story:
    """A job by `code` with the facts of the world, beginning at 2026-03-02 07:10 in the shop."""

    code: str = "PR-11"
    facts: Facts = field(default_factory=world_facts)
    procedure: Procedure | None = None
    now: datetime = START
    logged: list[Logged] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.procedure = self.procedure or shipped(self.code)
        self.fold = Fold(Bench(self.procedure, self.facts))
        self.sequences: dict[str, int] = {}

    @property
    def bench(self) -> Bench:
        return self.fold.bench

    def do(self, act: Act, *, minutes: float | None = None, **more: Any) -> Logged:
        """The next act, `minutes` after the one before; `more` is what `entry` takes."""
        default = SLOW.get(act.step or "", 3) if act.kind == "step" else 3
        self.now += timedelta(minutes=default if minutes is None else minutes)
        return self.take(self.entry(act, self.now, **more))

    def take(self, entry: Entry) -> Logged:
        """Fold an entry wherever its place is."""
        self.fold.add(entry)
        self.logged.append(Logged(entry, self))
        return self.logged[-1]

    def entry(
        self,
        act: Act,
        at: datetime,
        *,
        phone: int = 1,
        late: timedelta = timedelta(0),
        skew: timedelta = timedelta(0),
        **payload: Any,
    ) -> Entry:
        """A signed entry; `late` is how long after the act it came in, `payload` replaces common members."""
        key = device(act.who, phone)
        self.sequences[key] = self.sequences.get(key, 0) + 1
        members = {
            "entry": str(entry_id(len(self.sequences) * 1000 + sum(self.sequences.values()))),
            "job": str(JOB),
            "kind": act.kind,
            "performed_at": at.isoformat(),
            "device_seq": self.sequences[key],
            "device_previous": None,
            "procedure": self.bench.procedure.digest,
            **{name: str(value) if isinstance(value, UUID) else value for name, value in act.body.items()},
            **payload,
        }
        skew_ms = skew // timedelta(milliseconds=1)
        return Entry(read_entry(members), key, person_id(act.who), at + skew + late, skew_ms)

    def until(self, step: str) -> "Story":
        """Everything that comes before `step` in a good rebuild, which all earns credit."""
        for act in SCRIPTS[self.code]:
            if act.step == step:
                return self
            assert self.do(act).credit, act
        return self

    def through(self, step: str) -> "Story":
        """Everything up to the last act at `step`."""
        acts = SCRIPTS[self.code]
        last = max(at for at, act in enumerate(acts) if act.step == step)
        for act in acts[: last + 1]:
            assert self.do(act).credit, act
        return self

    def has_credit(self, step: str) -> bool:
        return step in self.bench.credited


def with_person(facts: Facts, initials: str, *qualifications: Qualification, hot_work: Any = ()) -> Facts:
    """The same facts, with other qualifications for one person."""
    person = Person(person_id(initials), initials, qualifications, tuple(hot_work))
    return replace(facts, people={**facts.people, person.id: person})


def with_revisions(facts: Facts, *revisions: tuple[Procedure, datetime]) -> Facts:
    """The same facts, with published revisions, each in force from a time."""
    known = tuple(RevisionFact(p.code, p.revision, p.digest, since, p.safety_critical) for p, since in revisions)
    by_code = {p.code: known for p, _ in revisions}
    return replace(facts, revisions=by_code, procedures={p.digest: p for p, _ in revisions})
