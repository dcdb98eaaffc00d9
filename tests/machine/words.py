"""Holds, pauses, hand-overs and condemnations, by anybody."""

from uuid import uuid4

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tests.machine.days import Days, hows, people, phones
from tests.machine.hands import How


class Words(Days):
    """What is said of a job without touching the coupling."""

    @rule(phone=phones, how=hows)
    def hold(self, phone: str, how: How) -> None:
        self.hands.do(phone, "hold", {"reason": "A crack is suspected."}, how)

    @rule(phone=phones, how=hows)
    def pause(self, phone: str, how: How) -> None:
        self.hands.do(phone, "pause", {"state_note": "Jaw in, pin not driven."}, how)

    @rule(phone=phones, read=st.booleans(), how=hows)
    def resume(self, phone: str, read: bool, how: How) -> None:
        self.hands.do(phone, "resume", {"state_read": read}, how)

    @rule(phone=phones, to=people, how=hows)
    def hand_over(self, phone: str, to: str, how: How) -> None:
        self.hands.do(phone, "hand_over", {"state_note": "Pin in.", "to": to}, how)

    @rule(phone=phones, pause=st.booleans(), how=hows)
    def accept(self, phone: str, pause: bool, how: How) -> None:
        named = (self.hands.told.paused if pause else self.hands.told.offered) or uuid4()
        self.hands.do(phone, "hand_over", {"state_note": "As told.", "accepts": named}, how)

    @rule(phone=phones, how=hows)
    def condemn(self, phone: str, how: How) -> None:
        self.hands.do(phone, "condemn", {"reason": "A crack from the bore."}, how)

    @precondition(lambda self: self.hands.told.condemned)
    @rule(phone=phones, how=hows)
    def concur(self, phone: str, how: How) -> None:
        says = {"reason": "I see it too.", "concurs_with": self.hands.told.condemned}
        self.hands.do(phone, "condemn", says, how)
