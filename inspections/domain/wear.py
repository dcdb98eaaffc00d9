"""Wear: how play grows with distance, and how far it is to the limit.

In plain sentences:
1. Play against distance is fitted by a straight line, least squares, exactly (no binary float).
2. Its slope has a standard error from the scatter about the line, with n - 2 degrees of freedom.
3. Fewer than three readings, or all at one distance, are too few points: no distance is given.
4. No wear is seen when the slope cannot be told from zero at the stated confidence.
5. The distance left is the furthest at which, with the stated one-sided confidence, a next reading would
   still be within the limit (upper prediction bound). It is rounded down to a whole unit of distance.
6. A limit that the last reading or the bound has already passed leaves nothing.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1 and 4.5.1.2; Draper and Smith, Applied
Regression Analysis (prediction bound: a + b x + t s sqrt(1 + 1/n + (x - mean)^2 / Sxx)); both from memory.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inspections.domain.irrationals import root_above
from inspections.domain.quantities import shown
from inspections.domain.student_t import MOST_DEGREES, t_quantile

CONFIDENCE = Fraction(95, 100)
FEWEST_POINTS = 3
HORIZON = 1_000_000  # further than this, in units of distance, no limit is said to be in sight


class WearStatus(StrEnum):
    WEARING = "wearing"
    NO_WEAR_SEEN = "no_wear_seen"
    TOO_FEW_POINTS = "too_few_points"
    AT_LIMIT = "at_limit"


@dataclass(frozen=True, slots=True)
class WearPoint:
    """One reading of play at a distance run since the parts were new or adjusted."""

    distance: Fraction
    play: Fraction


@dataclass(frozen=True, slots=True)
class Line:
    """play = intercept + slope * distance, with what its bounds need. `variance` is about the line."""

    intercept: Fraction
    slope: Fraction
    variance: Fraction
    count: int
    mean_distance: Fraction
    spread: Fraction  # Sxx, the sum of squares of distance about its mean

    @property
    def degrees(self) -> int:
        return self.count - 2

    @property
    def slope_error(self) -> Fraction:
        """The standard error of the slope, rounded up by at most 1e-30."""
        return root_above(self.variance / self.spread)

    @property
    def residual_deviation(self) -> Fraction:
        """The standard deviation about the line, rounded up by at most 1e-30."""
        return root_above(self.variance)


@dataclass(frozen=True, slots=True)
class Wear:
    """What the readings say. `distance_left` counts from where the part stands; None when no limit is in sight."""

    status: WearStatus
    line: Line | None
    distance_left: int | None
    confidence: Fraction
    message: str


def fit_line(points: tuple[WearPoint, ...]) -> Line | None:
    """The least-squares line through three or more points at two or more distances, else None. Exact."""
    count = len(points)
    if count < FEWEST_POINTS:
        return None
    mean_x = sum((p.distance for p in points), Fraction(0)) / count
    mean_y = sum((p.play for p in points), Fraction(0)) / count
    spread = sum(((p.distance - mean_x) ** 2 for p in points), Fraction(0))
    if not spread:
        return None
    slope = sum(((p.distance - mean_x) * (p.play - mean_y) for p in points), Fraction(0)) / spread
    intercept = mean_y - slope * mean_x
    squares = sum(((p.play - intercept - slope * p.distance) ** 2 for p in points), Fraction(0))
    return Line(intercept, slope, squares / (count - 2), count, mean_x, spread)


def judge_wear(
    points: tuple[WearPoint, ...],
    limit: Fraction,
    confidence: Fraction = CONFIDENCE,
    unit: str = "in",
    distance_unit: str = "mi",
    now: WearPoint | None = None,
) -> Wear:
    """How far it is to `limit` (in the unit of play). `confidence` is one-sided, 0.5 to 0.9999.

    `now` is where the part stands, if not at the point furthest run: after an adjustment it has run nothing again.
    """
    line = fit_line(points)
    last = now or max(points, key=lambda p: (p.distance, p.play), default=None)
    if last is not None and last.play > limit:
        words = f"The last play, {shown(last.play, unit, None)}, is beyond {shown(limit, unit, None)}."
        return Wear(WearStatus.AT_LIMIT, line, 0, confidence, words)
    if line is None or last is None:
        return Wear(WearStatus.TOO_FEW_POINTS, None, None, confidence, _too_few_words(len(points)))
    t = t_quantile(confidence, min(line.degrees, MOST_DEGREES))  # t falls with the degrees
    left = _distance_left(line, last.distance, limit, t)
    wearing = line.slope > 0 and line.slope**2 * line.spread > t**2 * line.variance
    status = WearStatus.WEARING if wearing else WearStatus.NO_WEAR_SEEN
    if left == 0:
        status = WearStatus.AT_LIMIT
    return Wear(status, line, left, confidence, _words(status, line, left, confidence, (unit, distance_unit)))


def distance_since_adjustment(
    points: tuple[WearPoint, ...], limit: Fraction, confidence: Fraction = CONFIDENCE
) -> int | None:
    """How far a part that has just been adjusted may run before `judge_wear`'s bound reaches the limit.

    None with too few points, or with no limit in sight; 0 if the bound is beyond it from the start.
    """
    line = fit_line(points)
    if line is None:
        return None
    return _distance_left(line, Fraction(0), limit, t_quantile(confidence, min(line.degrees, MOST_DEGREES)))


def _distance_left(line: Line, start: Fraction, limit: Fraction, t: Fraction) -> int | None:
    """The largest whole distance past `start` at which the bound is within the limit; None past the horizon.

    The bound is convex in the distance, so beyond a start within the limit it is crossed once at most.
    """
    if not _bound_within(line, start, limit, t):
        return 0
    if _bound_within(line, start + HORIZON, limit, t):
        return None
    low, high = 0, HORIZON
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _bound_within(line, start + middle, limit, t) else (low, middle)
    return low


def _bound_within(line: Line, distance: Fraction, limit: Fraction, t: Fraction) -> bool:
    """Is the upper prediction bound at most `limit`? Compared by squares, so no root is taken."""
    room = limit - line.intercept - line.slope * distance
    factor = 1 + Fraction(1, line.count) + (distance - line.mean_distance) ** 2 / line.spread
    return room >= 0 and t**2 * line.variance * factor <= room**2


def _too_few_words(count: int) -> str:
    return (
        f"Too few points: {count}. A rate of wear needs three readings or more, at more than one distance. "
        "Nothing is said about the distance left."
    )


def _words(status: WearStatus, line: Line, left: int | None, confidence: Fraction, units: tuple[str, str]) -> str:
    unit, distance_unit = units
    step = Fraction(1, 100_000)
    rate = f"{shown(line.slope * 1000, unit, step)} in 1000 {distance_unit}"
    error = shown(line.slope_error * 1000, unit, step)
    opening = {
        WearStatus.WEARING: f"Play grows by {rate} (standard error {error}, {line.count} readings).",
        WearStatus.NO_WEAR_SEEN: f"No wear seen: {rate}, standard error {error}, cannot be told from none.",
        WearStatus.AT_LIMIT: "A next reading may already be beyond the limit.",
        WearStatus.TOO_FEW_POINTS: "",
    }[status]
    sure = shown(confidence * 100, "1", None)
    if left is None:
        return f"{opening} No limit is in sight within {HORIZON} {distance_unit}."
    return f"{opening} With {sure} % confidence the limit is at least {left} {distance_unit} away."
