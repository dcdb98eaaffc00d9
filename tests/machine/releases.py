"""The release, asked for at any time, and what becomes of it."""

from datetime import timedelta
from uuid import UUID, uuid4

from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule

from jobs.queries.job_rows import job_row
from jobs.services.claim_job import end_claim
from jobs.services.release_job import release_job
from shops.domain.access import Role
from shops.domain.errors import Refusal
from tests.machine.days import Days, hows, shots
from tests.machine.hands import How, Signed
from tests.plain.model import Model


class Releases(Days):
    """A release is accepted exactly when the model says that it may be."""

    @initialize(done=st.sampled_from((0, 2, 5, 6, 8, 8, 9, 9)), photos=shots)
    def begin(self, done: int, photos: tuple[str, ...]) -> None:
        """Nothing, a part of a rebuild, a whole one, or one that is released; perhaps without all photos."""
        self.hands.photos = photos
        self.hands.go_on(min(done, 8))
        if done > 8:
            self.release("JD-1", 1, How())  # over a head that nobody has seen: the open gate refuses it
            self.release("JD-1", 0, How())

    # Honest work, and time.

    @rule(most=st.integers(1, 9))
    def work_honestly(self, most: int) -> None:
        self.hands.go_on(most)

    @precondition(lambda self: not self.hands.released)
    @rule(signs=st.sampled_from(("no", "over a stale head", "yes")))
    def bring_it_to_an_end(self, signs: str) -> None:
        """Every phone syncs, every claim is ended, what is missing is done; perhaps it is signed."""
        hands = self.hands
        self.send_everything()
        for claim, phone in list(hands.claims.items()):
            self._end(claim, hands.bench.phones[phone].sequence)
        hands.go_on(12)
        if signs != "no":
            hands.now += timedelta(minutes=3)
            self.release("JD-1", int(signs != "yes"), How())

    @rule(
        phone=st.sampled_from(("JD-1", "JD-1", "JD-1", "EY-1", "RM-1")),
        stale=st.sampled_from((0, 0, 0, 0, 1)),
        how=hows,
    )
    def sign_the_release(self, phone: str, stale: int, how: How) -> None:
        self.release(phone, stale, how)

    def release(self, phone: str, stale: int, how: How) -> None:
        hands = self.hands
        with hands.bench.inside():
            row = job_row(hands.bench.company, hands.bench.job)
        assert row is not None
        head = "00" * 32 if stale else row.chain_head.hex()
        kept = hands.bench.phones[phone]
        sequence, previous = kept.sequence, kept.previous
        signed = hands.sign(phone, "release", {"chain_head": head, "statement": "Released."}, How(back=how.back))
        slow = timedelta(minutes=how.slow)
        may = row.state == "open" and not stale and self._may_be_released(signed, slow)
        refusal = self._send(signed, slow)
        assert (refusal is None) == may, (refusal, vars(hands.told))
        if refusal is None:
            hands.released = signed.id
            hands._keep(signed, slow)
            hands.tell()
        else:  # the phone forgets what was not taken
            kept.sequence, kept.previous = sequence, previous

    def _send(self, signed: Signed, slow: timedelta) -> Refusal | None:
        hands = self.hands
        try:
            with hands.bench.inside():
                told = hands.now - slow if slow else None
                release_job(grant=hands.grant(), token=signed.token, device_time=told, now=hands.now)
        except Refusal as refusal:
            return refusal
        return None

    def _may_be_released(self, signed: Signed, slow: timedelta) -> bool:
        hands = self.hands
        after = Model.of([*hands.deeds, signed.deed(slow)], hands.taken)
        is_last = list(after.times)[-1] == signed.id
        signer = hands.taken.may(signed.who, "release", signed.dated + slow)
        untrusted = hands._is_refused(signed, slow)
        return hands.gate_is_open() and signer and not untrusted and after.released == signed.id and is_last

    def send_everything(self) -> None:
        self.hands.outbox, outbox = [], self.hands.outbox
        self.hands.send(outbox)

    def _end(self, claim: UUID, last: int) -> None:
        hands = self.hands
        phone = hands.claims.pop(claim)
        with hands.bench.inside():
            grant, why = hands.bench.grant(Role.LEAD), "Nobody waits for it."
            end_claim(grant=grant, end=uuid4(), claim=claim, last_sequence=last, reason=why, now=hands.now)
        hands.ended[phone] = max(last, hands.ended.get(phone, 0))
