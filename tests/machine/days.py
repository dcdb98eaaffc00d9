"""What happens on any day: time passes, phones sync, a server starts anew, somebody decides."""

from datetime import timedelta
from uuid import uuid4

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from jobs.models.release import ReleaseSuspension, SuspensionLifting
from jobs.queries import folds
from jobs.services.lift_suspension import lift_suspension
from tests.machine.agreement import Agreement
from tests.machine.hands import How
from tests.machine.world import PHONES, PHOTOS
from tests.plain.deeds import SCOPES

phones, people = st.sampled_from(PHONES), st.sampled_from(sorted(SCOPES))
shots = st.sampled_from((PHOTOS, PHOTOS, PHOTOS, PHOTOS[:1], PHOTOS[:1] * 2, ()))
hows = st.sampled_from([How()] * 6 + [How(sent=False)] * 2 + [How(back=20), How(back=90), How(slow=-45), How(slow=30)])


class Days(Agreement):
    """Rules for every machine."""

    @rule(passed=st.integers(0, 12))
    def wait(self, passed: int) -> None:
        self.hands.now += timedelta(minutes=passed)

    @rule()
    def start_the_server_anew(self) -> None:
        folds._kept.clear()

    @rule(phone=phones, own=st.booleans(), data=st.data(), how=hows)
    def clear(self, phone: str, own: bool, data: st.DataObject, how: How) -> None:
        told = self.hands.told
        named = [*told.holds, *([told.condemned] if told.condemned else ()), *list(told.deeds)[-2:], uuid4()]
        says = {"hold": named[data.draw(st.integers(0, len(named) - 1))], "reason": "Dye showed nothing."}
        if own and says["hold"] in told.deeds:  # whoever did what is held decides about it himself
            phone = told.deeds[says["hold"]].phone
        self.hands.do(phone, "clear", says, how)

    @precondition(lambda self: self.hands.outbox)
    @rule(data=st.data(), whole=st.booleans())
    def sync(self, data: st.DataObject, whole: bool) -> None:
        outbox = self.hands.outbox
        sent = outbox.copy() if whole else [outbox[data.draw(st.integers(0, len(outbox) - 1))]]
        self.hands.outbox = [one for one in outbox if one not in sent]
        self.hands.send(sent)

    @precondition(lambda self: self.hands.suspended)
    @rule()
    def lift(self) -> None:
        hands = self.hands
        with hands.bench.inside():
            lifted = SuspensionLifting.objects.values("suspension_id")
            for suspension in ReleaseSuspension.objects.exclude(id__in=lifted).values_list("id", flat=True):
                lifting = {"identifier": uuid4(), "suspension": suspension, "reason": "Looked at it."}
                lift_suspension(grant=hands.bench.grant(), now=hands.now, **lifting)
        hands.suspended = False
