"""Phones that prove lost, and cards that prove forged, from some time on."""

from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from hypothesis import strategies as st
from hypothesis.stateful import rule

from shops.models.device_key import DeviceKey
from shops.services.revoke_device_key import revoke_device_key
from shops.services.withdraw_qualification import withdraw_qualification
from tests.machine.days import Days, people, phones
from tests.machine.hands import Hands


class TakenBack(Days):
    """What work was judged by, and is no more."""

    @rule(phone=phones, ago=st.sampled_from((0, 10, 60)))
    def revoke_a_phone(self, phone: str, ago: int) -> None:
        hands = self.hands
        if phone in hands.taken.phones:
            return
        since = hands.now - timedelta(minutes=ago)
        with hands.bench.inside():
            key = DeviceKey.objects.get(id=hands.bench.keys[phone])
            asked: dict[str, Any] = {"reason": "Lost in the yard.", "recorded_by": "lead: JD", "now": hands.now}
            revoke_device_key(key=key, identifier=uuid4(), revoked_from=since, **asked)
        hands.taken.phones[phone] = since
        hands.look_again()

    @rule(who=people, ago=st.sampled_from((0, 10, 60)))
    def withdraw_a_card(self, who: str, ago: int) -> None:
        hands = self.hands
        if who in hands.taken.people:
            return
        withdraw_card(hands, who, hands.now - timedelta(minutes=ago))


def withdraw_card(hands: Hands, who: str, since: datetime) -> None:
    with hands.bench.inside():
        asked: dict[str, Any] = {"reason": "The test was forged.", "recorded_by": "lead: JD", "now": hands.now}
        qualification = hands.bench.grants[who]
        named: dict[str, Any] = {"company": hands.bench.company, "qualification": qualification}
        withdraw_qualification(identifier=uuid4(), withdrawn_from=since, **named, **asked)
    hands.taken.people[who] = since
    hands.look_again()
