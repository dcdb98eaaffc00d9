"""Hands for the machine: what is signed, sent, withheld, and what the model is told of it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any
from uuid import UUID

from jobs.services.judge_again import judge_again
from jobs.services.record_entries import Recorded, record_entries
from shops.domain.access import Grant
from shops.domain.errors import Refusal
from tests.machine.wire import on_the_wire, with_kit, with_photos, with_turns
from tests.machine.world import PHONES, PHOTOS, START, Bench, build_bench, numbers_of
from tests.plain.deeds import Deed, Taken
from tests.plain.model import Model
from tests.plain.procedure import FOLLOW_UP, REBUILD, Plan
from tests.plain.revisions import PLANS
from tests.plain.things import GAUGES

AHEAD = timedelta(minutes=2)


@dataclass(frozen=True)
class How:
    """How an act is signed and sent: how much earlier it is dated, by how much the clock is said to be slow."""

    sent: bool = True
    back: int = 0
    slow: int = 0


@dataclass(frozen=True)
class Signed:
    id: UUID
    phone: str
    number: int
    dated: datetime
    kind: str
    says: dict[str, Any]
    token: bytes
    previous: str | None
    under: int

    @property
    def who(self) -> str:
        return self.phone[:2]

    def deed(self, slow: timedelta) -> Deed:
        digest = sha256(self.token).hexdigest()
        said = (self.kind, self.says, digest, self.previous, self.under)
        return Deed(self.id, self.who, self.phone, self.number, self.dated + slow, *said)


@dataclass
class Hands:
    """Everybody of the shop, their phones, and what has been done so far."""

    bench: Bench = field(default_factory=build_bench)
    now: datetime = START
    deeds: list[Deed] = field(default_factory=list)
    elsewhere: list[Deed] = field(default_factory=list)
    tokens: dict[UUID, bytes] = field(default_factory=dict)
    outbox: list[Signed] = field(default_factory=list)
    taken: Taken = field(default_factory=Taken)
    claims: dict[UUID, str] = field(default_factory=dict)
    ended: dict[str, int] = field(default_factory=dict)
    plan: Plan = REBUILD
    condemned: bool = False
    photos: tuple[str, ...] = PHOTOS  # what the shop names where photos are asked for
    shows: dict[str, int] = field(default_factory=dict)  # phones that have not heard of what the job is under now
    released: UUID | None = None
    suspended: bool = False
    revoked: bool = False
    told: Model = field(default_factory=lambda: Model(Taken()))

    def __post_init__(self) -> None:
        self.told = Model.of([], self.taken, self.plan)

    def grant(self) -> Grant:
        """Whose token what is signed is sent with."""
        return self.bench.grant()

    # What the model is told, and says.

    def tell(self) -> None:
        """Ask the model anew, and note what is known for ever: a casting condemned, a release gone bad."""
        before, self.told = self.told, Model.of(self.deeds, self.taken, self.plan)
        self.condemned = self.condemned or self.told.concurred
        lost = before.released is not None and self.told.released is None
        worse = self.told.since - before.since or self.told.in_doubt() - before.in_doubt()
        if self.released and (lost or worse):
            self.suspended = True

    def look_again(self) -> None:
        """The worker judges anew what rests on what was taken back."""
        judge_again(company=self.bench.company, now=self.now)
        self.tell()

    def gate_is_open(self) -> bool:
        stopped = self.told.shut() or self.told.newer(self.now) or self.condemned
        return not stopped and not any(self._waits_for(phone) for phone in PHONES)

    def _waits_for(self, phone: str) -> bool:
        """Whether entries of a phone that nobody has given up may still be on the way."""
        if phone in self.taken.phones:
            return False
        here = numbers_of(self.deeds).get(phone, set())
        known = here | numbers_of(self.elsewhere).get(phone, set())
        last = max([0, *here, self.ended.get(phone, 0)])
        return phone in self.claims.values() or not known.issuperset(range(1, last + 1))

    # Signing and sending.

    def do(self, phone: str, kind: str, says: dict[str, Any], how: How = How(), **common: Any) -> Signed:
        signed = self.sign(phone, kind, says, how, **common)
        if how.sent:
            self.send([signed], timedelta(minutes=how.slow))
        else:
            self.outbox.append(signed)
        return signed

    def sign(self, phone: str, kind: str, says: dict[str, Any], how: How = How(), **common: Any) -> Signed:
        dated = self.now - timedelta(minutes=how.back)
        previous = common.get("device_previous", self.bench.phones[phone].previous)
        shown = self.shows.get(phone, self.told.revision)
        under = shown if shown in self.bench.digests else 0
        wire = on_the_wire(self.bench, kind, says, again=self.plan is FOLLOW_UP)
        made, token = self.bench.sign(phone, kind, dated, wire, under=under, **common)
        number = self.bench.phones[phone].sequence
        return Signed(made, phone, number, dated, kind, says, token, previous, under)

    def send(self, sent: Sequence[Signed], slow: timedelta = timedelta(0)) -> None:
        """Send in one batch; what must be refused is refused, everything else is stored and told to the model."""
        with self.bench.inside():
            results = record_entries(
                grant=self.grant(),
                tokens=[one.token for one in sent],
                device_time=self.now - slow if slow else None,
                now=self.now,
            )
        for one, result in zip(sent, results, strict=True):
            if self._is_refused(one, slow):
                assert isinstance(result, Refusal), (one, result)
                continue
            assert isinstance(result, Recorded), (one, result)
            assert result.is_new == (one.id not in self.tokens)
            if result.is_new:
                self._keep(one, slow)
        self.tell()

    def _is_refused(self, one: Signed, slow: timedelta) -> bool:
        at = one.dated + slow
        return at > self.now + AHEAD or not self.taken.is_good(one.phone, at) or not self._has_step(one)

    def _has_step(self, one: Signed) -> bool:
        """An entry names a step of the revision that it was made under; words name what they are about."""
        plan = PLANS[one.under or 1] if self.plan is REBUILD else self.plan
        return one.kind == "amendment" or "step" not in one.says or one.says["step"] in plan.steps

    def _keep(self, one: Signed, slow: timedelta) -> None:
        self.tokens[one.id] = one.token
        self.deeds.append(one.deed(slow))

    # Honest work.

    def go_on(self, most: int) -> None:
        """What an honest shop does next, up to `most` entries; it stops where nothing is left or nobody may."""
        for _ in range(most):
            self.now += timedelta(minutes=3)
            if not self._next():
                return

    def _next(self) -> bool:
        told = self.told
        if told.paused:
            self.do("RM-1", "resume", {"state_read": True})
        elif told.offered:
            self.do("JD-1", "hand_over", {"state_note": "Seen.", "accepts": told.offered})
        elif told.newer(self.now):
            self.do("JD-1", "move", {"revision": max(told.newer(self.now)), "reason": "It is better."})
        elif told.condemned or told.holds:
            return self._decide(told.condemned or next(iter(told.holds)))
        else:
            return self._work()
        return True

    def _decide(self, named: UUID) -> bool:
        hold = self.told.holds.get(named)
        own = {self.told.deeds[named].who, *(hold.cleared if hold else ())}
        free = [phone for phone in ("JD-1", "EY-1") if phone[:2] not in own]
        if free:
            self.do(free[0], "clear", {"hold": named, "reason": "Looked at it."})
        return bool(free)

    def _work(self) -> bool:
        missing = [step for step in self.told.plan.steps if step not in self.told.credited()]
        if not missing:
            return self._photograph()
        step = missing[0]
        if step == "gap":
            return self._measure()
        if step == "verify":
            return self._verify()
        return self._step(step)
        return True

    def _step(self, step: str) -> bool:
        kit = next((serial for serial, kit in self.taken.kits.items() if kit.may_be_issued(self.now)), None)
        if step == "kit" and kit is None:
            return False
        body = with_photos(with_kit(with_turns({"step": step, "reason": "Again."}), kit), self.photos)
        self.do("RM-1", "rework" if step in {"kit", "fit"} else "step", body)
        return True

    def _photograph(self) -> bool:
        """What names too few photos is amended."""
        unnamed = self.told.unnamed()
        if unnamed:
            self.name_photos(unnamed[0], PHOTOS)
        return bool(unnamed)

    def name_photos(self, deed: UUID, photos: Sequence[str], how: How = How()) -> None:
        """Whoever did it says it again, and names these photos."""
        done = self.told.deeds[deed]
        says = {"amends": done.id, "reason": "Named.", "content": {**done.content, "kind": done.said_kind}}
        self.do(done.phone, "amendment", {**says, **({"evidence": list(photos)} if photos else {})}, how)

    def _measure(self) -> bool:
        if self.told.asks == "low":
            self.do("RM-1", "correction", {"step": "gap", "face": "jaw stop pad"})
            return True
        good = [code for code in GAUGES if self.taken.gauges[code].is_good(self.now)]
        if good:
            says = {"step": "gap", "value": "good", "gauge": good[0], "reason": "Measured anew."}
            self.do("RM-1", "reading", says)
        return bool(good)

    def _verify(self) -> bool:
        began = self.told.deeds[self.told.run[0]].who if self.told.run else None
        free = [who for who in ("OK", "EY", "JD") if who not in self.told.touched and began in {who, None}]
        if not free or not self.taken.gauges["TK-03"].is_good(self.now):
            return False
        says = {"step": "verify", "cycle": len(self.told.run) + 1, "good": True}
        self.do(f"{free[0]}-1", "verification_cycle", says)
        return True
