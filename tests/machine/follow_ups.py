"""The short job after the release: what it finds good frees the unit, and what it finds moved stops it."""

from dataclasses import replace
from uuid import uuid4

from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule

from jobs.services.open_job import JobRequest, open_job
from jobs.services.release_job import release_job
from tests.machine.days import hows, phones
from tests.machine.hands import Hands, How
from tests.machine.taken_back import TakenBack
from tests.machine.words import Words
from tests.plain.model import TOUCHES
from tests.plain.procedure import CODE, FOLLOW_UP


class Again(Hands):
    """Everybody at the follow-up of a release."""

    completed: bool = False

    def tell(self) -> None:
        """Complete for ever once it was; each fail, and what takes from a complete one, suspends the release."""
        before, known = self.told, set(self.told.deeds)
        super().tell()
        told, over = self.told, self.completed
        self.completed = over or (not told.shut() and not self.condemned)
        fails = {deed for deed in told.asking() if deed not in before.asking()}
        touched = [deed for deed in self.deeds if deed.id not in known and deed.kind in TOUCHES]
        lost = not before.shut() or touched
        if fails or (over and told.shut() and lost):
            self.suspended = True


class FollowUps(Words, TakenBack):
    """A released unit goes only once its follow-up is complete, and while nothing speaks against either."""

    def __init__(self) -> None:
        super().__init__()
        self.first = self.hands
        self.first.go_on(8)
        self._release()
        self.hands = Again(
            replace(self.first.bench, job=uuid4()), self.first.now, taken=self.first.taken, plan=FOLLOW_UP
        )
        bench = self.hands.bench
        with bench.inside():
            request = JobRequest(bench.job, bench.shop, bench.unit, CODE, purpose="follow_up")
            open_job(grant=bench.grant(), request=request, now=self.hands.now)

    def _release(self) -> None:
        first = self.first
        with first.bench.inside():
            head = first.bench.chain_head()
            signed = first.sign("JD-1", "release", {"chain_head": head, "statement": "Released."})
            release_job(grant=first.bench.grant(), token=signed.token, device_time=None, now=first.now)
        first.released = signed.id
        first._keep(signed, first.now - first.now)
        first.tell()

    # What the record says of it.

    def gate_is_open(self) -> bool:
        return False  # a follow-up is completed, not released

    def state(self) -> str:
        return "completed" if self.hands.completed else "condemned" if self.hands.condemned else "open"

    def is_suspended(self, *, told: bool) -> bool:
        """A follow-up that quality let stand as it is may be suspended anew by more than the model can tell."""
        self.first.tell()
        if self.hands.completed and self.hands.told.shut():
            self.hands.suspended = self.hands.suspended or told
        return self.first.suspended or self.hands.suspended

    def may_go(self) -> bool:
        suspended = self.first.suspended or self.hands.suspended
        return self.hands.completed and not (suspended or self.hands.condemned)

    # What is done.

    @initialize(done=st.sampled_from((0, 1, 2, 2, 2, 2)))
    def begin(self, done: int) -> None:
        if done:
            self.look("RM-1", How(), again=False)
        if done > 1:
            self.measure("RM-1", "good", How(), why=False)

    @rule(phone=phones, how=hows, again=st.booleans())
    def look(self, phone: str, how: How, *, again: bool) -> None:
        body = {"step": "look", **({"reason": "Looked again."} if again else {})}
        self.hands.do(phone, "rework" if again else "step", body, how)

    @rule(phone=phones, value=st.sampled_from(("good", "good", "low", "near")), how=hows, why=st.booleans())
    def measure(self, phone: str, value: str, how: How, *, why: bool) -> None:
        says = {"step": "gap", "value": value, **({"reason": "A burr."} if why else {})}
        self.hands.do(phone, "reading", says, how)

    @precondition(lambda self: self.first.suspended or self.hands.suspended)
    @rule()
    def lift(self) -> None:
        super().lift()
        self.first.suspended = False
