"""What the model remembers of a job: what has credit, what was read, who touched it, what is in the way."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from tests.plain.deeds import Deed, Taken
from tests.plain.procedure import REBUILD, Plan


@dataclass
class Hold:
    """What must be decided. `since`: when it came up, if later than the act; a release before then stands."""

    why: str  # "hand", "fork", "near", "beyond", "doubt", "grind", "count", "recall" or "back"
    needs: int = 1
    since: datetime | None = None
    cleared: set[str] = field(default_factory=set)


@dataclass
class Reading:
    deed: UUID
    value: str
    gauge: str
    counts: bool
    doubt: datetime | None = None  # when its gauge was found so far off that it is out of limits
    accepted: bool = False


@dataclass
class State:
    """The job so far."""

    taken: Taken
    plan: Plan = REBUILD
    revision: int = 1
    kept: set[int] = field(default_factory=set)  # the revisions that a lead kept the job from
    deeds: dict[UUID, Deed] = field(default_factory=dict)
    times: dict[UUID, datetime] = field(default_factory=dict)
    acted: dict[UUID, datetime] = field(default_factory=dict)  # of an amendment: when what it speaks of was done
    against: dict[UUID, set[str]] = field(default_factory=dict)  # why an entry has no credit
    done: dict[str, UUID] = field(default_factory=dict)  # steps of work with credit
    kits: list[tuple[UUID, str]] = field(default_factory=list)  # issued with credit, by which deed
    rests: dict[str, list[UUID]] = field(default_factory=dict)
    run: list[UUID] = field(default_factory=list)
    reading: Reading | None = None
    asks: str | None = None  # the value of a failed reading that nothing has answered
    asked_by: UUID | None = None
    undone: dict[str, UUID] = field(default_factory=dict)  # what undid a step last
    grinds: int = 0
    touched: set[str] = field(default_factory=set)  # who adjusted or corrected
    holds: dict[UUID, Hold] = field(default_factory=dict)
    paused: UUID | None = None
    offered: UUID | None = None
    condemned: UUID | None = None
    concurred: bool = False
    released: UUID | None = None
    since: set[UUID] = field(default_factory=set)  # what touched the coupling, or spoke of it, after the release
    last: dict[str, Deed] = field(default_factory=dict)

    def credited(self) -> set[str]:
        good = self.reading is not None and self.reading.counts
        return {*self.done, *({"gap"} if good else ()), *({"verify"} if len(self.run) >= self.plan.cycles else ())}

    def shut(self, at: datetime | None = None) -> bool:
        """Whether what was logged keeps the gate shut; at a time in the past, without what came up later."""
        holds = [hold for hold in self.holds.values() if not (at and hold.since and at < hold.since)]
        in_the_way = holds or self.paused or self.offered or self.condemned or (at and self.newer(at))
        return bool(in_the_way) or not self.credited().issuperset(self.plan.steps) or bool(self.unnamed())

    @property
    def kit(self) -> str | None:
        """The kit that is in the coupling."""
        return self.kits[-1][1] if self.kits else None

    def where(self, serial: str) -> str:
        """Where a recall finds a kit: in the coupling first of all, or where it was last put, by parts or this job."""
        if serial == self.kit:
            return "in_work"
        issued = [(self.acted[deed], "used") for deed, kit in self.kits if kit == serial]
        moves = sorted([*self.taken.kits[serial].moves, *issued])[-1:]
        place = moves[0][1] if moves else "stocked"
        return {"scrapped": "scrapped", "used": "unknown", "elsewhere": "unknown"}.get(place, "stock")

    def asking(self) -> set[UUID]:
        """The failed reading that nothing has answered."""
        return {self.asked_by} if self.asks and self.asked_by else set()

    def in_doubt(self) -> set[UUID | str]:
        """What was good when it was done, and is not believed any more: the reading, the kit."""
        reading = self.reading is not None and self.reading.doubt is not None
        recalled = self.kit is not None and self.taken.kits[self.kit].recalled is not None
        return {
            *([self.reading.deed] if self.reading and reading else ()),
            *([self.kit] if self.kit and recalled else ()),
        }

    def unnamed(self) -> list[UUID]:
        """What was done where photos are asked for, and names too few of them."""
        wanted = {self.done[step]: count for step, count in self.plan.photos.items() if step in self.done}
        return [deed for deed, count in wanted.items() if len(self._photos(deed)) < count]

    def _photos(self, deed: UUID) -> set[str]:
        """Words that name none leave those of what they are about."""
        said = self.deeds[deed]
        return said.photos or (self._photos(said.says["amends"]) if said.kind == "amendment" else set())

    def is_later(self, one: UUID | None, than: UUID) -> bool:
        """Words have their place where what they are about was done."""
        order = list(self.deeds)
        return one is not None and order.index(self._root(one)) > order.index(self._root(than))

    def _root(self, deed: UUID) -> UUID:
        said = self.deeds[deed]
        return (
            self._root(said.says["amends"]) if said.kind == "amendment" and said.says["amends"] in self.deeds else deed
        )

    def said_of(self, deed: UUID) -> list[UUID]:
        """What speaks of one act: its entry, and the words about it that were taken."""
        of_it = [one for one in self.deeds if self._root(one) == self._root(deed)]
        return [one for one in of_it if "amends nothing" not in self.against.get(one, {"amends nothing"})]

    def _common(self, deed: Deed, at: datetime) -> set[str]:
        before = self.last.get(deed.phone)
        forked = before is not None and (
            deed.number == before.number or (deed.number == before.number + 1 and deed.previous != before.digest)
        )
        found = {
            "over": self.released or self.concurred,
            "phone": not self.taken.is_good(deed.phone, at),
            "fork": forked,
        }
        return {why for why, is_so in found.items() if is_so}

    def newer(self, at: datetime) -> set[int]:
        """The safety-critical revisions about which somebody must decide, until it is released."""
        since = max([at, *self.times.values()])
        return {
            number
            for number, found in self.taken.revisions.items()
            if found.critical
            and number > self.revision
            and found.since <= since
            and number not in self.kept
            and not self.released
        }

    def _in_hand(self, deed: Deed, at: datetime) -> set[str]:
        found = {
            "paused": self.paused,
            "offered": self.offered,
            "other": deed.under != self.revision,
            "newer": self.newer(at),
        }
        return {why for why, is_so in found.items() if is_so}

    def _at(self, step: str, deed: Deed, at: datetime) -> set[str]:
        who = deed.who
        found = {
            "order": not self.credited().issuperset(self.plan.after[step]),
            "wall": self.plan.walls.get(step) in self.credited(),
            "unqualified": not self.taken.may(who, self.plan.scope[step], at),
            "dependent": step == "verify" and who in self.touched,
        }
        return self._in_hand(deed, at) | {why for why, is_so in found.items() if is_so}

    def _undo(self, keys: Iterable[str], by: UUID, *, answers: bool) -> None:
        waiting, seen = list(keys), set()
        while waiting:
            key = waiting.pop()
            if key in seen:
                continue
            seen.add(key)
            waiting += self.plan.voids.get(key, ())
            self._undo_one(key, by, answers=answers)

    def _undo_one(self, key: str, by: UUID, *, answers: bool) -> None:
        self.done.pop(key, None)
        self.undone[key] = by
        if key == "gap":
            self._drop()
            self.asks = None if answers else self.asks
        if key == "verify":
            self.run = []
        for deed in self.rests.pop(key, ()):
            if deed != by and not self.against[deed]:
                self.against[deed].add("undone")

    def _drop(self) -> None:
        """The reading speaks no more; nobody has to accept it, or doubts it, then."""
        if self.reading and self.holds.get(self.reading.deed, Hold("")).why in {"near", "doubt"}:
            del self.holds[self.reading.deed]
        self.reading = None
