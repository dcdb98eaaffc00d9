"""A gauge found bad: what each reading since its last good check is worth now.

In plain sentences:
1. Every reading taken with it since the last good check is listed; without a good check, every reading.
   If the check left it bad, readings after the check are listed too, until one that left it good.
2. True = recorded + bias, the bias found at the check. Between two points it is interpolated, and the verdict
   is the worst that either neighbour gives. A single point is an offset that holds everywhere.
3. A value made from differences (elongation, flatness) does not shift by an offset, but by at most the spread
   of the biases, either way. Among heights of which some are nought, in contact, nought is one of the biases:
   no gauge read those, so an offset does not cancel.
4. Now outside the limits: suspend what rests on it. Conditional: a person reviews it. Otherwise clear.
5. Nothing is ever cleared by this: a reading recorded as a fail stays one, whatever its true value.
   What was recorded stays as it is. A bias that could not be measured, or a value beyond the points that were
   checked, is reviewed at least.

Worked example: feeler blades 0.006 in thinner than marked, so bias -0.006. Gap 0.180 to 0.260 in, guarded by
U = 0.0102: recorded 0.184 is truly 0.178, a fail; 0.186 is 0.180, conditional; 0.205 is 0.199, clear.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from fractions import Fraction

from inspections.domain.characteristic import Characteristic, Method
from inspections.domain.instruments import Calibration, CheckPoint, InstrumentFacts, last_good_check
from inspections.domain.quantities import shown
from inspections.domain.tolerance import Verdict, decide
from inspections.domain.units import UNITS, converted

_GRAVITY = {Verdict.NONE: 0, Verdict.PASS: 1, Verdict.CONDITIONAL: 2, Verdict.FAIL: 3}
_OF_DIFFERENCES = (Method.FLATNESS_GRID, Method.BORE)


class Outcome(StrEnum):
    """What becomes of a reading. `STANDS` is a recorded fail: it carried nothing, and stays a fail."""

    CLEAR = "clear"
    REVIEW = "review"
    SUSPEND = "suspend"
    STANDS = "stands"


@dataclass(frozen=True, slots=True)
class FoundBad:
    """An as-found error. Points are in `unit`; `until` is None while the instrument is still bad."""

    instrument: str
    unit: str
    points: tuple[CheckPoint, ...]
    last_good_at: datetime | None
    until: datetime | None

    def covers(self, at: datetime) -> bool:
        """Was a reading at `at` taken in doubt? Both ends count."""
        after = self.last_good_at is None or at >= self.last_good_at
        return after and (self.until is None or at <= self.until)


@dataclass(frozen=True, slots=True)
class UsedReading:
    """A reading taken with the instrument. `value` and its expanded `uncertainty` are in the characteristic's unit.

    `entry` and `job` name it; `release` is the release that rests on it, None when none does. `in_contact` says
    that some of its heights are nought, which needed no gauge.
    """

    entry: str
    job: str
    characteristic: Characteristic
    value: Fraction
    uncertainty: Fraction | None
    performed_at: datetime
    release: str | None = None
    in_contact: bool = False


@dataclass(frozen=True, slots=True)
class Rejudged:
    """A reading with its verdict as recorded and as corrected.

    `corrected` is the value that the verdict was made from, the worst of those possible; None without a
    measured bias.
    """

    reading: UsedReading
    corrected: Fraction | None
    recorded_verdict: Verdict
    corrected_verdict: Verdict
    outcome: Outcome
    message: str


@dataclass(frozen=True, slots=True)
class FoundBadReport:
    """Every reading in doubt, in the order of the work, and the releases that are hit."""

    instrument: str
    readings: tuple[Rejudged, ...]

    def of(self, outcome: Outcome) -> tuple[Rejudged, ...]:
        return tuple(rejudged for rejudged in self.readings if rejudged.outcome is outcome)

    @property
    def releases_to_suspend(self) -> tuple[str, ...]:
        return self._releases(Outcome.SUSPEND)

    @property
    def releases_to_review(self) -> tuple[str, ...]:
        """Releases to look at, without those that are suspended anyway."""
        suspended = self.releases_to_suspend
        return tuple(name for name in self._releases(Outcome.REVIEW) if name not in suspended)

    @property
    def message(self) -> str:
        counts = {outcome: len(self.of(outcome)) for outcome in Outcome}
        return (
            f"{self.instrument}: {len(self.readings)} readings since the last good check. "
            f"{counts[Outcome.SUSPEND]} to suspend, {counts[Outcome.REVIEW]} to review, "
            f"{counts[Outcome.CLEAR]} clear, {counts[Outcome.STANDS]} recorded fails that stand."
        )

    def _releases(self, outcome: Outcome) -> tuple[str, ...]:
        names = (rejudged.reading.release for rejudged in self.of(outcome))
        return tuple(dict.fromkeys(name for name in names if name is not None))


def found_bad_of(instrument: InstrumentFacts, check: Calibration) -> FoundBad:
    """What a calibration that found the instrument bad puts in doubt. ValueError if it found it good."""
    if check.found_good:
        raise ValueError(f"the check of {instrument.code} found it good: nothing is in doubt")
    good = last_good_check(instrument, check.performed_at)
    until = check.performed_at if check.left_good else _next_good_check(instrument, check.performed_at)
    last_good_at = None if good is None else good.performed_at
    return FoundBad(instrument.code, instrument.unit, check.as_found, last_good_at, until)


def _next_good_check(instrument: InstrumentFacts, after: datetime) -> datetime | None:
    later = (c.performed_at for c in instrument.calibrations if c.performed_at > after and c.left_good)
    return min(later, default=None)


def rejudge(found: FoundBad, readings: Iterable[UsedReading]) -> FoundBadReport:
    """Recompute every reading in doubt. Readings outside the doubted time are left out.

    Raises ValueError for a reading of another dimension than the instrument's, or a guarded one without U.
    """
    doubted = [reading for reading in readings if found.covers(reading.performed_at)]
    ordered = sorted(doubted, key=lambda reading: (reading.performed_at, reading.entry))
    return FoundBadReport(found.instrument, tuple(_rejudged(found, reading) for reading in ordered))


def _rejudged(found: FoundBad, reading: UsedReading) -> Rejudged:
    recorded = _verdict(reading, reading.value)
    if not found.points or reading.characteristic.method is Method.COUNT:  # a count has no error of a gauge's scale
        outcome = Outcome.STANDS if recorded is Verdict.FAIL else Outcome.REVIEW
        words = _words(found, reading, None, recorded, outcome)
        return Rejudged(reading, None, recorded, recorded, outcome, words)
    shifts, checked = _shifts(found, reading)
    values = [reading.value + shift for shift in shifts]
    worst = max(values, key=lambda value: _GRAVITY[_verdict(reading, value)])
    verdict = _verdict(reading, worst)
    outcome = _outcome(recorded, verdict, checked)
    return Rejudged(reading, worst, recorded, verdict, outcome, _words(found, reading, worst, verdict, outcome))


def _verdict(reading: UsedReading, value: Fraction) -> Verdict:
    wanted = reading.characteristic
    return decide(value, wanted.limits, wanted.rule, reading.uncertainty).verdict


def _outcome(recorded: Verdict, corrected: Verdict, checked: bool) -> Outcome:
    if recorded is Verdict.FAIL:
        return Outcome.STANDS
    if corrected is Verdict.FAIL:
        return Outcome.SUSPEND
    return Outcome.CLEAR if corrected is Verdict.PASS and checked else Outcome.REVIEW


def _shifts(found: FoundBad, reading: UsedReading) -> tuple[tuple[Fraction, Fraction, Fraction], bool]:
    """Likeliest, least and greatest shift, in the reading's unit; and whether the points cover the value."""
    here, there = UNITS[found.unit], UNITS[reading.characteristic.unit]
    value = converted(reading.value, there, here)
    scale = here.factor / there.factor  # a difference has no zero to shift
    if reading.characteristic.method in _OF_DIFFERENCES:
        biases = [point.bias for point in found.points] + [Fraction(0)] * reading.in_contact
        spread = (max(biases) - min(biases)) * scale
        return (Fraction(0), -spread, spread), True
    ordered = sorted(found.points, key=lambda point: point.indicated)
    below = max((p for p in ordered if p.indicated <= value), key=lambda p: p.indicated, default=ordered[0])
    above = min((p for p in ordered if p.indicated >= value), key=lambda p: p.indicated, default=ordered[-1])
    checked = len(ordered) == 1 or ordered[0].indicated <= value <= ordered[-1].indicated
    near = [p.bias * scale for p in ordered if p.indicated in (below.indicated, above.indicated)]
    return (_between(below, above, value) * scale, min(near), max(near)), checked


def likely_value(found: FoundBad, value: Fraction) -> Fraction | None:
    """What a value that the instrument gave (in its unit) truly was, likeliest; None without a measured bias."""
    if not found.points:
        return None
    ordered = sorted(found.points, key=lambda point: point.indicated)
    below = max((p for p in ordered if p.indicated <= value), key=lambda p: p.indicated, default=ordered[0])
    above = min((p for p in ordered if p.indicated >= value), key=lambda p: p.indicated, default=ordered[-1])
    return value + _between(below, above, value)


def _between(below: CheckPoint, above: CheckPoint, value: Fraction) -> Fraction:
    """The bias at `value`, on the straight line between the two points."""
    if below.indicated == above.indicated:
        return below.bias
    part = (value - below.indicated) / (above.indicated - below.indicated)
    return below.bias + part * (above.bias - below.bias)


def _words(
    found: FoundBad, reading: UsedReading, corrected: Fraction | None, verdict: Verdict, outcome: Outcome
) -> str:
    unit = reading.characteristic.unit
    recorded = f"{reading.characteristic.title}: recorded {shown(reading.value, unit, None)}"
    if corrected is None:
        middle = f"the error of {found.instrument} is not known."
    else:
        middle = f"with the error of {found.instrument} truly {shown(corrected, unit, None)}, {verdict}."
    rests = "No release rests on it." if reading.release is None else f"Release {reading.release} rests on it"
    closing = {
        Outcome.CLEAR: "Clear.",
        Outcome.REVIEW: f"To be reviewed. {rests}" + ("" if reading.release is None else "."),
        Outcome.SUSPEND: rests if reading.release is None else f"{rests} and is suspended.",
        Outcome.STANDS: "It was a fail when recorded, and stays one.",
    }
    return f"{recorded}, {middle} {closing[outcome]}"
