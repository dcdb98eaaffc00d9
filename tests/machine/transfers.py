"""A job that goes from shop to shop, with entries of either that come in before, between and after."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule

from jobs.queries.job_rows import job_row
from jobs.services.answer_transfer import accept_transfer, decline_transfer
from jobs.services.offer_transfer import offer_transfer
from shops.domain.access import Grant, Role
from shops.domain.errors import Refusal
from tests.machine.days import hows, phones
from tests.machine.hands import Hands, How, Signed
from tests.machine.releases import Releases
from tests.plain.travels import Offer, Whereabouts

shops, people = st.sampled_from(("A", "B", "A", "B", "AB")), st.sampled_from(("JD", "AB"))


@dataclass
class Apart(Hands):
    """Two shops: `desk` is the one at which the phones sync now, or both."""

    desk: str = "A"
    where: Whereabouts = field(default_factory=Whereabouts)

    def grant(self) -> Grant:
        return self.of(self.desk, "JD", Role.QUALITY)

    def of(self, desk: str, who: str, role: Role = Role.LEAD) -> Grant:
        named = {"A": self.bench.shop, "B": self.bench.other_shop}
        reached = frozenset() if desk == "AB" else frozenset({named[desk]})
        return replace(self.bench.grant(role), shops=reached, label=who)

    def gate_is_open(self) -> bool:
        return self.where.offer is None and super().gate_is_open()

    def send(self, sent: Sequence[Signed], slow: timedelta = timedelta(0)) -> None:
        """What a desk may not send waits in the phone until it syncs at another."""
        super().send(sent, slow)
        self.outbox += [one for one in sent if not self.where.takes(self.desk, one.dated + slow)]

    def _is_refused(self, one: Signed, slow: timedelta) -> bool:
        return super()._is_refused(one, slow) or not self.where.takes(self.desk, one.dated + slow)


class Transfers(Releases):
    """What a shop did while it had the job is taken whenever it comes; nobody releases what may be on a truck."""

    hands: Apart

    def __init__(self) -> None:
        super().__init__()
        self.hands = Apart()
        self.offers: list[UUID] = []

    @initialize(done=st.sampled_from((2, 6, 8, 8)), goes=st.sampled_from(("no", "offered", "yes", "yes", "and back")))
    def begin(self, done: int, goes: str) -> None:
        """A part of a rebuild, or all of it; a phone of the first shop has something that it has not sent."""
        hands = self.hands
        hands.go_on(done)
        self.hold("SV-1", How(sent=False))
        if goes != "no":
            self.offer("A", "JD", "B")
        if goes in {"yes", "and back"}:
            self.answer("B", "AB", 0, accepts=True)
            hands.now += timedelta(minutes=1)
            self.hold("OK-1", How(sent=False))
        if goes == "and back":
            self.offer("B", "AB", "A")
            self.answer("A", "JD", 0, accepts=True)

    @rule(desk=shops)
    def sync_elsewhere(self, desk: str) -> None:
        self.hands.desk = desk
        self.send_everything()

    @rule(desk=shops, who=people, to=st.sampled_from(("A", "B")))
    def offer(self, desk: str, who: str, to: str) -> None:
        hands, made = self.hands, uuid4()
        shop = hands.bench.shop if to == "A" else hands.bench.other_shop
        asked: dict[str, Any] = {"job": hands.bench.job, "to_shop": shop, "reason": "No welder this week."}
        may = not hands.released and hands.where.may_offer(desk, to)
        self._ask(may, lambda: offer_transfer(grant=hands.of(desk, who), identifier=made, now=hands.now, **asked))
        if may:
            hands.where.offer = Offer(made, to, who)
            self.offers.append(made)

    @precondition(lambda self: self.offers)
    @rule(desk=shops, who=people, ago=st.sampled_from((0, 0, 0, 1)), accepts=st.sampled_from((True, True, False)))
    def answer(self, desk: str, who: str, ago: int, *, accepts: bool) -> None:
        """Sometimes of an offer that is answered already."""
        hands, where = self.hands, self.hands.where
        named = self.offers[-1 - min(ago, len(self.offers) - 1)]
        asked: dict[str, Any] = {"identifier": uuid4(), "transfer": named, "reason": "It stands in the yard."}
        may = where.may_accept(desk, who, named) if accepts else where.may_decline(named)
        does = accept_transfer if accepts else decline_transfer
        self._ask(may, lambda: does(grant=hands.of(desk, who), now=hands.now, **asked))
        if may and accepts:
            where.accept(hands.now)
        elif may:
            where.offer = None
        with hands.bench.inside():
            row = job_row(hands.bench.company, hands.bench.job)
        assert row is not None
        assert row.shop == (hands.bench.shop if where.here == "A" else hands.bench.other_shop)

    def _ask(self, may: bool, asked: Callable[[], Any]) -> None:
        refused: Refusal | None = None
        try:
            with self.hands.bench.inside():
                asked()
        except Refusal as refusal:
            refused = refusal
        assert (refused is None) == may, refused

    @rule(phone=phones, how=hows)
    def hold(self, phone: str, how: How) -> None:
        self.hands.do(phone, "hold", {"reason": "A crack is suspected."}, how)

    def _may_be_released(self, signed: Signed, slow: timedelta) -> bool:
        """By the shop that has it now."""
        return self.hands.where.has(self.hands.desk) and super()._may_be_released(signed, slow)
