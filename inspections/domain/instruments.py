"""Instruments: what is known of one, and whether it could be trusted at the time it was used.

In plain sentences, each judged at the time of use `at`:
1. An instrument never calibrated by then is not trusted.
2. One withdrawn by then (dropped, damaged, lost from sight), or left bad by its last calibration, is suspect.
3. One used after its calibration was due is overdue; on the due moment itself it is still in date.
4. One of a kind that the characteristic does not name is the wrong kind.
5. A value outside its range is out of range; a torque wrench works from 20 to 100 % of its scale.
6. All that is wrong is listed at once; the state is the gravest of them.

A calibration done later changes none of this. What it finds bad is judged reading by reading (`found_bad`).
Signs follow VIM 2.16 and 2.53: error = indicated - reference; the bias here is the correction, -error, so
that true = recorded + bias.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from fractions import Fraction

from inspections.domain.quantities import shown
from inspections.domain.torque import working_range


class InstrumentKind(StrEnum):
    FEELER_SET = "feeler_set"
    STRAIGHTEDGE = "straightedge"
    BORE_GAUGE = "bore_gauge"
    DEPTH_GAUGE = "depth_gauge"
    CALIPER = "caliper"
    DIAL = "dial"
    TORQUE_WRENCH = "torque_wrench"
    TEST_KINGPIN = "test_kingpin"
    THERMOMETER = "thermometer"


class CalibrationResult(StrEnum):
    """How the instrument was found, and left."""

    IN_TOLERANCE = "in_tolerance"  # found good, left as found
    ADJUSTED = "adjusted"  # found bad, left good
    FAILED = "failed"  # found bad, left bad


class InstrumentStatus(StrEnum):
    IN_DATE = "in_date"
    OVERDUE = "overdue"
    SUSPECT = "suspect"
    OUT_OF_RANGE = "out_of_range"
    WRONG_KIND = "wrong_kind"
    NEVER_CALIBRATED = "never_calibrated"


@dataclass(frozen=True, slots=True)
class CheckPoint:
    """One point of a calibration, in the instrument's unit: what was true, and what the instrument said."""

    reference: Fraction
    indicated: Fraction

    @property
    def error(self) -> Fraction:
        """Indicated - reference: above zero, the instrument reads too much."""
        return self.indicated - self.reference

    @property
    def bias(self) -> Fraction:
        """What to add to a recorded value: true = recorded + bias."""
        return -self.error


@dataclass(frozen=True, slots=True)
class Calibration:
    """One calibration or check: append-only, never edited. Times carry their offset."""

    performed_at: datetime
    due_at: datetime
    result: CalibrationResult
    as_found: tuple[CheckPoint, ...] = ()
    as_left: tuple[CheckPoint, ...] = ()

    @property
    def found_good(self) -> bool:
        return self.result is CalibrationResult.IN_TOLERANCE

    @property
    def left_good(self) -> bool:
        return self.result is not CalibrationResult.FAILED


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """Out of use from `since` on, until it is put back (`until`, None while it is not)."""

    since: datetime
    reason: str
    until: datetime | None = None

    def covers(self, at: datetime) -> bool:
        return self.since <= at and (self.until is None or at < self.until)


@dataclass(frozen=True, slots=True)
class InstrumentFacts:
    """What the register knows. Range, resolution and expanded uncertainty (k = 2) are in `unit`."""

    code: str
    kind: InstrumentKind
    low: Fraction
    high: Fraction
    unit: str
    resolution: Fraction
    uncertainty: Fraction
    calibrations: tuple[Calibration, ...] = ()
    withdrawals: tuple[Withdrawal, ...] = ()

    @property
    def working_range(self) -> tuple[Fraction, Fraction]:
        """The range in which it may be used, ends included."""
        if self.kind is InstrumentKind.TORQUE_WRENCH:
            return max(self.low, working_range(self.high)[0]), self.high
        return self.low, self.high


@dataclass(frozen=True, slots=True)
class InstrumentFinding:
    """One thing wrong with the use of an instrument, and what cures it."""

    status: InstrumentStatus
    code: str
    message: str
    cure: str


@dataclass(frozen=True, slots=True)
class InstrumentState:
    """The gravest status, and every finding; in date without any finding."""

    status: InstrumentStatus
    findings: tuple[InstrumentFinding, ...]

    @property
    def trusted(self) -> bool:
        return not self.findings

    @property
    def code(self) -> str:
        return self.findings[0].code if self.findings else "instrument_in_date"

    @property
    def message(self) -> str:
        return " ".join(finding.message for finding in self.findings)

    @property
    def cure(self) -> str:
        return " ".join(finding.cure for finding in self.findings)


def instrument_state(
    instrument: InstrumentFacts, at: datetime, expected_kinds: Collection[str], value: Fraction | None
) -> InstrumentState:
    """Could the instrument be trusted when it was used? See the rules at the top.

    `expected_kinds` empty means any kind; `value` is in the instrument's unit, None when nothing was read.
    Raises ValueError for a time without its offset.
    """
    if at.tzinfo is None:
        raise ValueError("the time of use needs its offset from UTC")
    found = (
        _calibration_finding(instrument, at),
        _withdrawal_finding(instrument, at),
        _due_finding(instrument, at),
        _kind_finding(instrument, expected_kinds),
        _range_finding(instrument, value),
    )
    findings = tuple(finding for finding in found if finding is not None)
    return InstrumentState(findings[0].status if findings else InstrumentStatus.IN_DATE, findings)


def calibration_in_force(instrument: InstrumentFacts, at: datetime) -> Calibration | None:
    """The latest calibration performed by `at`; of two at one time, the one recorded later."""
    latest: Calibration | None = None
    for calibration in instrument.calibrations:
        if calibration.performed_at <= at and (latest is None or calibration.performed_at >= latest.performed_at):
            latest = calibration
    return latest


def last_good_check(instrument: InstrumentFacts, before: datetime) -> Calibration | None:
    """The latest calibration before `before` that left the instrument good."""
    good = [c for c in instrument.calibrations if c.performed_at < before and c.left_good]
    return max(good, key=lambda c: c.performed_at, default=None)


def found_bad_after(instrument: InstrumentFacts, at: datetime) -> Calibration | None:
    """The next calibration after `at`, if it found the instrument bad: then a use at `at` is in doubt."""
    later = [c for c in instrument.calibrations if c.performed_at > at]
    following = min(later, key=lambda c: c.performed_at, default=None)
    return None if following is None or following.found_good else following


def _finding(status: InstrumentStatus, message: str, cure: str) -> InstrumentFinding:
    return InstrumentFinding(status, f"instrument_{status}", message, cure)


def _calibration_finding(instrument: InstrumentFacts, at: datetime) -> InstrumentFinding | None:
    latest = calibration_in_force(instrument, at)
    if latest is None:
        message = f"{instrument.code} had not been calibrated by {at.isoformat()}."
        return _finding(InstrumentStatus.NEVER_CALIBRATED, message, "Take a calibrated one and read again.")
    if latest.left_good:
        return None
    message = f"{instrument.code} failed its calibration of {latest.performed_at.isoformat()}."
    return _finding(InstrumentStatus.SUSPECT, message, "Take another instrument and read again.")


def _withdrawal_finding(instrument: InstrumentFacts, at: datetime) -> InstrumentFinding | None:
    withdrawal = next((w for w in instrument.withdrawals if w.covers(at)), None)
    if withdrawal is None:
        return None
    message = f"{instrument.code} was withdrawn on {withdrawal.since.isoformat()}: {withdrawal.reason}."
    return _finding(InstrumentStatus.SUSPECT, message, "Take another instrument and read again.")


def _due_finding(instrument: InstrumentFacts, at: datetime) -> InstrumentFinding | None:
    latest = calibration_in_force(instrument, at)
    if latest is None or at <= latest.due_at:
        return None
    message = f"The calibration of {instrument.code} was due on {latest.due_at.isoformat()}."
    cure = "Read again with one that is in date, or have this one calibrated first."
    return _finding(InstrumentStatus.OVERDUE, message, cure)


def _kind_finding(instrument: InstrumentFacts, expected_kinds: Collection[str]) -> InstrumentFinding | None:
    if not expected_kinds or instrument.kind in expected_kinds:
        return None
    wanted = " or ".join(sorted(kind.replace("_", " ") for kind in expected_kinds))
    message = f"{instrument.code} is a {instrument.kind.replace('_', ' ')}; this is read with a {wanted}."
    return _finding(InstrumentStatus.WRONG_KIND, message, f"Read again with a {wanted}.")


def _range_finding(instrument: InstrumentFacts, value: Fraction | None) -> InstrumentFinding | None:
    low, high = instrument.working_range
    if value is None or low <= value <= high:
        return None
    unit = instrument.unit
    message = (
        f"{shown(value, unit, None)} is outside the working range of {instrument.code}, "
        f"{shown(low, unit, None)} to {shown(high, unit, None)}."
    )
    return _finding(InstrumentStatus.OUT_OF_RANGE, message, "Read again with one whose range holds the value.")
