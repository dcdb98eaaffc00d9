"""Is a value within its limits? The decision rules, exact.

1. The tolerance interval holds the values that conform; whether an end belongs to it is said by the limits.
2. Simple acceptance: inside passes, outside fails (JCGM 106:2012, 8.2).
3. Guarded acceptance, guard band w = r U: outside fails, inside but closer than w to a limit is conditional,
   else it passes (JCGM 106:2012, 8.3.2; the rejection stays simple).
4. Guarded rejection: inside passes, outside by no more than w is conditional, further out fails (JCGM
   106:2012, 8.3.3).
5. Both guarded: passes only inside by w, fails only outside by w, between them neither is proven, conditional
   (the three zones of ISO 14253-1).
6. A guarded limit keeps the inclusion of the limit it guards, so with w = 0 every rule is simple acceptance.

Example: 0.180 to 0.260 in, w = 0.0102 in, guarded acceptance. 0.178 fails; 0.180 and 0.190 are conditional;
0.1902 and 0.2498 pass; 0.250 is conditional.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inspections.domain.characteristic import DecisionRule, Limits, RuleKind


class Verdict(StrEnum):
    """What a reading says about its characteristic; NONE if nothing could be judged."""

    PASS = "pass"  # noqa: S105 - a verdict, no password
    CONDITIONAL = "conditional"
    FAIL = "fail"
    NONE = "none"


class Side(StrEnum):
    """Which limit a value is beyond, or within the guard band of."""

    BELOW = "below"
    ABOVE = "above"


@dataclass(frozen=True, slots=True)
class Decision:
    """The verdict, the limit that decided it (None for a pass), and the guard band used, in the value's unit.

    `outside` tells a value beyond its limits from one inside them but in the guard band.
    """

    verdict: Verdict
    near: Side | None
    outside: bool
    guard_band: Fraction


def decide(value: Fraction, limits: Limits, rule: DecisionRule, uncertainty: Fraction | None) -> Decision:
    """Judge `value` by `rule`; `uncertainty` is the expanded U, in the same unit.

    ValueError if a guarded rule has no uncertainty, or for a negative one.
    """
    band = guard_band(rule, uncertainty)
    beyond = side_outside(value, limits)
    if beyond is not None:
        lenient = rule.kind in (RuleKind.GUARDED_REJECTION, RuleKind.GUARDED_BOTH)
        spared = lenient and band > 0 and side_outside(value, widened(limits, band)) is None
        return Decision(Verdict.CONDITIONAL if spared else Verdict.FAIL, beyond, True, band)
    if band > 0 and rule.kind in (RuleKind.GUARDED, RuleKind.GUARDED_BOTH):
        near = _side_guarded(value, limits, band)
        if near is not None:
            return Decision(Verdict.CONDITIONAL, near, False, band)
    return Decision(Verdict.PASS, None, False, band)


def guard_band(rule: DecisionRule, uncertainty: Fraction | None) -> Fraction:
    """The guard band w = r U of a guarded rule, 0 of a simple one.

    ValueError without U, or for a negative U or r.
    """
    if rule.kind is RuleKind.SIMPLE:
        return Fraction(0)
    if uncertainty is None:
        raise ValueError("a guarded rule needs the expanded uncertainty")
    if uncertainty < 0 or rule.guard < 0:
        raise ValueError("an uncertainty and a guard factor are not negative")
    return rule.guard * uncertainty


def side_outside(value: Fraction, limits: Limits) -> Side | None:
    """The limit that `value` is beyond, or None if it is inside; equality obeys the limits' inclusion."""
    low, high = limits.lower, limits.upper
    if low is not None and (value < low or (value == low and not limits.lower_inclusive)):
        return Side.BELOW
    if high is not None and (value > high or (value == high and not limits.upper_inclusive)):
        return Side.ABOVE
    return None


def widened(limits: Limits, by: Fraction) -> Limits:
    """The limits moved outwards by `by` (inwards for a negative one), ends counted as before."""
    return Limits(
        lower=None if limits.lower is None else limits.lower - by,
        upper=None if limits.upper is None else limits.upper + by,
        lower_inclusive=limits.lower_inclusive,
        upper_inclusive=limits.upper_inclusive,
    )


def acceptance_limits(limits: Limits, rule: DecisionRule, uncertainty: Fraction | None) -> Limits:
    """Between these a value passes; they may have crossed, and then nothing can pass.

    Guarded rejection passes inside the tolerance itself, as simple acceptance does.
    """
    band = guard_band(rule, uncertainty)
    inwards = rule.kind in (RuleKind.GUARDED, RuleKind.GUARDED_BOTH)
    return widened(limits, -band) if inwards else limits


def verdict_ends(limits: Limits, rule: DecisionRule, uncertainty: Fraction | None) -> tuple[Fraction, ...]:
    """Where the verdict changes: the limits, and the inner or outer ends of their guard bands.

    A guarded rule whose U is not known has no guard bands here.
    """
    band = Fraction(0) if uncertainty is None else guard_band(rule, uncertainty)
    inner = rule.kind in (RuleKind.GUARDED, RuleKind.GUARDED_BOTH)
    outer = rule.kind in (RuleKind.GUARDED_REJECTION, RuleKind.GUARDED_BOTH)
    zones = [limits] + [widened(limits, -band)] * inner + [widened(limits, band)] * outer
    return tuple(end for zone in zones for end in (zone.lower, zone.upper) if end is not None)


def _side_guarded(value: Fraction, limits: Limits, band: Fraction) -> Side | None:
    """The nearer limit of those whose guard band holds `value`, which is inside the limits."""
    side = side_outside(value, widened(limits, -band))
    low, high = limits.lower, limits.upper
    if side is Side.BELOW and low is not None and high is not None and high - value < value - low:
        return Side.ABOVE  # the guard bands overlap: name the nearer limit
    return side
