"""Phones that lie, are lost or come late, and what is taken back."""

from base64 import b64decode
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from jobs.services.claim_job import claim_job
from jobs.services.record_entries import record_entries
from jobs.services.revoke_release import revoke_release
from jobs.services.suspend_release import suspend_release
from shops.domain.access import Role
from shops.domain.errors import Refusal
from shops.domain.jws import sign_compact
from tests.machine.days import phones
from tests.machine.hands import How
from tests.machine.taken_back import TakenBack
from tests.machine.work import Work


class Phones(Work, TakenBack):
    """Everything that happens to phones and to the facts that entries are judged by."""

    @rule(phone=phones, kind=st.sampled_from(("pause", "step", "hold")), sent=st.booleans())
    def fork(self, phone: str, kind: str, sent: bool) -> None:
        """The phone is set back to before its last entry, and signs another one of the same number."""
        kept = self.hands.bench.phones[phone]
        if kept.sequence == 0:
            return
        kept.sequence -= 1
        bodies: dict[str, dict[str, Any]] = {
            "pause": {"state_note": "Another story."},
            "step": {"step": "last"},
            "hold": {"reason": "Another story."},
        }
        before = [deed for deed in self.hands.deeds if (deed.phone, deed.number) == (phone, kept.sequence)]
        previous = before[0].digest if before else None
        self.hands.do(phone, kind, bodies[kind], How(sent=sent), device_previous=previous)

    @rule(phone=phones)
    def work_on_another_unit(self, phone: str) -> None:
        hands = self.hands
        signed = hands.sign(phone, "pause", {"state_note": "Lunch."}, job=hands.bench.other_job)
        with hands.bench.inside():
            record_entries(grant=hands.bench.grant(), tokens=[signed.token], device_time=None, now=hands.now)
        if not hands._is_refused(signed, timedelta(0)):
            hands.elsewhere.append(signed.deed(timedelta(0)))

    @precondition(lambda self: self.hands.tokens)
    @rule(data=st.data(), what=st.sampled_from(("again", "forged", "other words", "future", "no job", "foreign")))
    def send_what_is_no_news(self, data: st.DataObject, what: str) -> None:
        hands = self.hands
        made = list(hands.tokens)
        token = hands.tokens[made[data.draw(st.integers(0, len(made) - 1))]]
        sent = token if what == "again" else self._untrusted(what, token)
        with hands.bench.inside():
            result = record_entries(grant=hands.bench.grant(), tokens=[sent], device_time=None, now=hands.now)[0]
        gone = isinstance(result, Refusal)
        assert gone or (what == "again" and not result.is_new), (what, result)

    def _untrusted(self, what: str, token: bytes) -> bytes:
        hands, phone = self.hands, "JD-1"
        if what == "forged":
            head, _, signature = token.rpartition(b".")
            return head + b"." + signature[::-1]
        kept = hands.bench.phones[phone]
        sequence, previous = kept.sequence, kept.previous
        more: dict[str, Any] = {"no job": {"job": uuid4()}, "other words": {}}.get(what, {})
        ahead = How(back=-60 if what == "future" else 0)
        signed = hands.sign(phone, "hold", {"reason": "Not this."}, ahead, **more)
        kept.sequence, kept.previous = sequence, previous
        if what == "foreign":  # signed by JD in the name of RM's phone
            named = {"typ": "rebuild-entry+jws", "kid": hands.bench.phones["RM-1"].key, "alg": kept.jwk.alg}
            payload = b64decode(signed.token.split(b".")[1] + b"==", b"-_")
            return sign_compact(payload, private_key=kept.private_key, **named)
        return signed.token if what in {"future", "no job"} else signed.token[:-4] + b"AAAA"

    @rule(phone=phones)
    def claim(self, phone: str) -> None:
        hands, made = self.hands, uuid4()
        with hands.bench.inside():
            key = hands.bench.phones[phone].key
            claim_job(grant=hands.bench.grant(Role.LEAD), claim=made, job=hands.bench.job, key=key, now=hands.now)
        hands.claims[made] = phone

    @precondition(lambda self: self.hands.claims)
    @rule(data=st.data(), short=st.integers(0, 1))
    def end_claim(self, data: st.DataObject, short: int) -> None:
        hands = self.hands
        claim = list(hands.claims)[data.draw(st.integers(0, len(hands.claims) - 1))]
        self._end(claim, max(0, hands.bench.phones[hands.claims[claim]].sequence - short))

    # What is taken back.

    @precondition(lambda self: self.hands.released and not self.hands.revoked)
    @rule()
    def suspend(self) -> None:
        hands = self.hands
        with hands.bench.inside():
            suspend_release(
                grant=hands.bench.grant(),
                identifier=uuid4(),
                release=self._released(),
                code="order",
                reason="A call from the yard.",
                now=hands.now,
            )
        hands.suspended = True

    @precondition(lambda self: self.hands.released and not self.hands.revoked)
    @rule()
    def revoke(self) -> None:
        hands = self.hands
        with hands.bench.inside():
            asked: dict[str, Any] = {"identifier": uuid4(), "release": self._released(), "reason": "Not as signed."}
            revoke_release(grant=hands.bench.grant(), now=hands.now, **asked)
        hands.revoked = True

    def _released(self) -> UUID:
        assert self.hands.released is not None
        return self.hands.released
