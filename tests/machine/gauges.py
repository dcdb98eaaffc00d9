"""Gauges that are lost, or found bad after they were used."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule

from inspections.domain.instruments import CalibrationResult
from inspections.domain.register import PointText
from inspections.services.record_calibration import CalibrationRequest, record_calibration
from inspections.services.withdraw_instrument import withdraw_instrument
from jobs.services.judge_again import judge_again
from jobs.services.report_bad_calibrations import report_bad_calibrations
from tests.machine.hands import How
from tests.machine.releases import Releases, hows
from tests.plain.procedure import FALLS, OFF, VALUES
from tests.plain.things import GAUGES, Check

A_WHILE = timedelta(seconds=30)  # calibrations are made between whole minutes, readings on them
gauges = st.sampled_from((*GAUGES[:1] * 3, GAUGES[1], "TK-03"))


class Gauges(Releases):
    """What was measured with a gauge that was bad opens no gate, and stands behind no release."""

    @initialize(
        value=st.sampled_from(("good", "good", "roomy", "near")),
        done=st.sampled_from((3, 4, 8, 9, 9, 9)),
        off=st.sampled_from(("", *GAUGES)),
    )
    def begin(self, value: str, done: int, off: str) -> None:
        """A rebuild up to a reading, up to the gate, or released; SV's phone has a better reading, and no signal."""
        hands = self.hands
        hands.go_on(3)
        self.read("RM-1", value, GAUGES[0], why=False, how=How())
        hands.now += timedelta(minutes=1)
        self.read("SV-1", "good", GAUGES[1], why=True, how=How(sent=False))
        hands.go_on(done - 3 + 2 * (value == "near"))
        if done > 8:
            self.release("JD-1", 0, How())
        if off:  # and only after that has been reported does SV's phone sync
            self.calibrate(off, "off", left_good=True, ago=0, worker="judges first")
            self.send_everything()

    @rule(
        phone=st.sampled_from(("RM-1", "SV-1", "JD-1")),
        value=st.sampled_from(("good", *sorted(VALUES))),
        gauge=st.sampled_from(GAUGES),
        why=st.booleans(),
        how=hows,
    )
    def read(self, phone: str, value: str, gauge: str, why: bool, how: How) -> None:
        says = {"step": "gap", "value": value, "gauge": gauge, **({"reason": "A burr."} if why else {})}
        self.hands.do(phone, "reading", says, how)

    @precondition(lambda self: self.hands.told.reading)
    @rule(value=st.sampled_from(("good", "roomy")), gauge=st.sampled_from(GAUGES), how=hows)
    def say_it_was(self, value: str, gauge: str, how: How) -> None:
        target = self.hands.told.deeds[self.hands.told.reading.deed]
        content = {**target.content, "kind": "reading", "value": value, "gauge": gauge}
        says = {"amends": target.id, "reason": "Mistyped.", "content": content}
        self.hands.do(target.phone, "amendment", says, how)

    @rule(
        code=gauges,
        found=st.sampled_from(("off", "off", "broken", "good")),
        left_good=st.booleans(),
        ago=st.sampled_from((0, 0, 10, 30)),
        worker=st.sampled_from(("", "judges first", "is late")),
    )
    def calibrate(self, code: str, found: str, left_good: bool, ago: int, worker: str) -> None:
        """The certificate may come a while after the work; so may the worker, and an entry in between."""
        hands, gauge = self.hands, self.hands.taken.gauges[code]
        hands.now += timedelta(minutes=1)
        check = Check(hands.now - timedelta(minutes=ago) - A_WHILE, found, left_good or found == "good")
        if any(one.at == check.at for one in gauge.checks):
            return
        self._record(code, check)
        gauge.checks = sorted([*gauge.checks, check], key=lambda one: one.at)
        if worker == "is late" and hands.outbox:
            hands.send([hands.outbox.pop(0)])
        if hands.released and self._throws_doubt(code, check):
            hands.suspended = True
        if worker == "judges first":
            judge_again(company=hands.bench.company, now=hands.now)
        while report_bad_calibrations(company=hands.bench.company, now=hands.now):
            pass
        hands.look_again()

    def _throws_doubt(self, code: str, check: Check) -> bool:
        """Whether the reading that governs falls with the check; that was seen before, it is seen once more."""
        told = self.hands.told
        reading = told.reading
        falls = reading is not None and reading.counts and reading.value in FALLS
        if reading is None or not falls or (reading.gauge, check.found) != (code, "off"):
            return False
        return told.taken.gauges[code].was_doubted_at(check, told.acted[reading.deed])

    def _record(self, code: str, check: Check) -> None:
        hands = self.hands
        bad = CalibrationResult.ADJUSTED if check.left_good else CalibrationResult.FAILED
        result = CalibrationResult.IN_TOLERANCE if check.found == "good" else bad
        off = [PointText(**OFF)] if check.found == "off" else []
        left = [PointText("0.200", "0.200")] if result is CalibrationResult.ADJUSTED else []
        due = check.at + timedelta(days=365)
        with hands.bench.inside():
            request = CalibrationRequest(uuid4(), check.at, due, result, off, left, "C-2026-131")
            asked: dict[str, Any] = {"unit": "in", "recorded_by": "instruments: NV", "now": hands.now}
            named = {"company": hands.bench.company, "instrument": hands.bench.gauges[code]}
            record_calibration(request=request, **named, **asked)

    @rule(code=gauges, ago=st.sampled_from((0, 10, 30)))
    def lose(self, code: str, ago: int) -> None:
        hands, gauge = self.hands, self.hands.taken.gauges[code]
        if gauge.lost:
            return
        gauge.lost = hands.now - timedelta(minutes=ago)
        with hands.bench.inside():
            asked: dict[str, Any] = {"reason": "Dropped.", "recorded_by": "instruments: NV", "now": hands.now}
            named = {"company": hands.bench.company, "instrument": hands.bench.gauges[code]}
            withdraw_instrument(identifier=uuid4(), withdrawn_at=gauge.lost, **named, **asked)
        hands.look_again()
