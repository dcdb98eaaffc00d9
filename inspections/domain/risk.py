"""What a decision rule costs: false accepts and false rejects, before anything is measured. For planning,
not verdicts.

1. Specific risk: this value was measured; how likely is the item bad? One less the probability of conformity
   (the specific consumer's risk of JCGM 106:2012, 3.3.13; clause from memory).
2. Global risk: items come from a process with a known spread; how likely is it that one is bad and accepted
   (PFA, the consumer's risk), or good and rejected (PFR, the producer's)? JCGM 106:2012, 9.5: PFA =
   integral outside the tolerance of g(t) P(accepted | t) dt, PFR = integral inside of g(t) P(rejected | t)
   dt.
3. Test uncertainty ratio TUR = (T_U - T_L) / (2 U), with U at 95 % (ANSI/NCSL Z540.3-2006, 3.11; exact).
   Z540.3, 5.3 b asks for PFA of at most 2 %, or a TUR of at least 4 where that cannot be reckoned.

Everything here is in one unit; results are floats.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from inspections.domain.characteristic import Limits
from inspections.domain.probability import conformity, normal_cdf, normal_density, normal_quantile
from inspections.domain.quadrature import integral

_REACH = 12.0  # standard deviations that stand for infinity
_STEPS = (-8.0, -5.0, -3.0, -1.5, 0.0, 1.5, 3.0, 5.0, 8.0)  # where a normal edge bends


class Process(Protocol):
    """Where the true values come from."""

    @property
    def mean(self) -> float: ...
    @property
    def deviation(self) -> float: ...
    @property
    def span(self) -> tuple[float, float]: ...
    def density(self, value: float) -> float: ...


@dataclass(frozen=True, slots=True)
class NormalProcess:
    """True values spread normally, standard deviation `deviation` > 0."""

    mean: float
    deviation: float

    @property
    def span(self) -> tuple[float, float]:
        """All but a negligible part of the process."""
        return self.mean - _REACH * self.deviation, self.mean + _REACH * self.deviation

    def density(self, value: float) -> float:
        """The normal density."""
        return normal_density((value - self.mean) / self.deviation) / self.deviation


@dataclass(frozen=True, slots=True)
class GammaProcess:
    """True values never negative, density rate^shape t^(shape - 1) e^(-rate t) / Gamma(shape)."""

    shape: float
    rate: float

    @property
    def mean(self) -> float:
        """Shape / rate."""
        return self.shape / self.rate

    @property
    def deviation(self) -> float:
        """Square root of the shape, / rate."""
        return math.sqrt(self.shape) / self.rate

    @property
    def span(self) -> tuple[float, float]:
        """All but a negligible part of the process."""
        return 0.0, self.mean + 4 * _REACH * self.deviation

    def density(self, value: float) -> float:
        """The gamma density; 0 for a value that is not positive."""
        if value <= 0:
            return 0.0
        log = self.shape * math.log(self.rate) + (self.shape - 1) * math.log(value) - self.rate * value
        return math.exp(log - math.lgamma(self.shape))


@dataclass(frozen=True, slots=True)
class Interval:
    """From `lower` to `upper`; an infinite end is open."""

    lower: float = -math.inf
    upper: float = math.inf

    def narrowed(self, by: float) -> "Interval":
        """Both ends moved inwards (an infinite one stays)."""
        return Interval(self.lower + by, self.upper - by)

    def share(self, centre: float, u: float) -> float:
        """How much of a normal distribution about `centre` lies within."""
        if self.lower >= self.upper:
            return 0.0
        below, above = (centre - self.lower) / u, (self.upper - centre) / u
        return max(0.0, 1.0 - normal_cdf(-below) - normal_cdf(-above))


@dataclass(frozen=True, slots=True)
class GlobalRisk:
    """Probabilities for an item not yet measured.

    `nonconforming` before any test; `false_accept` bad and accepted (PFA); `false_reject` good and rejected
    (PFR); `accepted` at all.
    """

    nonconforming: float
    false_accept: float
    false_reject: float
    accepted: float

    @property
    def conditional_false_accept(self) -> float:
        """How likely an accepted item is bad: PFA / P(accepted); 0 if nothing is accepted."""
        return self.false_accept / self.accepted if self.accepted > 0 else 0.0


def specific_risk(value: Fraction, limits: Limits, standard_uncertainty: Fraction) -> float:
    """How likely it is that an item measured at `value` does not conform."""
    return 1.0 - conformity(value, limits, standard_uncertainty)


def global_risk(process: Process, tolerance: Interval, acceptance: Interval, u: float) -> GlobalRisk:
    """PFA and PFR of accepting what measures within `acceptance`, with standard uncertainty u > 0."""
    breaks = _breaks(process, tolerance, acceptance, u)
    outside_low = [b for b in breaks if b <= tolerance.lower]
    inside = [b for b in breaks if tolerance.lower <= b <= tolerance.upper]
    outside_high = [b for b in breaks if b >= tolerance.upper]
    bad, accepted_bad = 0.0, 0.0
    for part in (outside_low, outside_high):
        bad += integral(process.density, part)
        accepted_bad += integral(lambda t: process.density(t) * acceptance.share(t, u), part)
    accepted_good = integral(lambda t: process.density(t) * acceptance.share(t, u), inside)
    rejected_good = integral(lambda t: process.density(t) * (1.0 - acceptance.share(t, u)), inside)
    return GlobalRisk(bad, accepted_bad, rejected_good, accepted_bad + accepted_good)


def guard_band_for_false_accepts(process: Process, tolerance: Interval, u: float, target: float) -> float:
    """The narrowest guard band w >= 0, on each finite limit, that keeps PFA at or below `target`.

    ValueError for a target that is not between 0 and 1. Bisection; PFA falls as w grows.
    """
    if not 0 < target < 1:
        raise ValueError("a risk lies between 0 and 1")
    low, high = 0.0, _REACH * (u + process.deviation)

    def too_risky(w: float) -> bool:
        return global_risk(process, tolerance, tolerance.narrowed(w), u).false_accept > target

    if not too_risky(low):
        return 0.0
    for _ in range(48):
        middle = (low + high) / 2
        low, high = (middle, high) if too_risky(middle) else (low, middle)
    return high


def guard_band_for_specific_risk(u: float, target: float) -> float:
    """The w with risk `target` at the acceptance limit, one limit mattering: w = z(1 - target) u.

    For target 0.05 that is 1.6449 u = 0.8224 U: the default of ISO 14253-1:2017 (from memory).
    """
    return normal_quantile(1.0 - target) * u


def risk_at_acceptance_limit(guard: Fraction) -> float:
    """Phi(-2 r): the risk of an item measured exactly r U inside one limit (ILAC-G8:09/2019, table 1)."""
    return normal_cdf(-2.0 * float(guard))


def process_from_yield(in_tolerance: float, half_width: float = 1.0) -> NormalProcess:
    """The centred normal process of which the share `in_tolerance` lies within +- `half_width`."""
    return NormalProcess(0.0, half_width / normal_quantile((1.0 + in_tolerance) / 2))


def uncertainty_ratio(limits: Limits, uncertainty: Fraction) -> Fraction | None:
    """TUR = (T_U - T_L) / (2 U), exact; None for one-sided limits. ValueError unless U is positive."""
    if uncertainty <= 0:
        raise ValueError("a ratio needs a positive uncertainty")
    if limits.lower is None or limits.upper is None:
        return None
    return (limits.upper - limits.lower) / (2 * uncertainty)


def _managed(ratio: float) -> float:
    return 1.0 - (1.04 - math.exp(0.38 * math.log(ratio) - 0.54)) / ratio


# Share of the tolerance kept for acceptance, by TUR. "managed" holds PFA to 2 % whatever the process
# (ANSI/NCSL Z540.3 Handbook, method 6); the others are common practice, from memory.
GUARD_FACTORS: dict[str, Callable[[float], float]] = {
    "managed": _managed,
    "root_sum_square": lambda ratio: math.sqrt(max(0.0, 1.0 - 1.0 / ratio**2)),
    "full_uncertainty": lambda ratio: 1.0 - 1.0 / ratio,
    "quarter_relief": lambda ratio: 1.25 - 1.0 / ratio,
}


def guard_factor(method: str, ratio: float) -> float:
    """The share of the tolerance kept at this TUR by one of `GUARD_FACTORS`, between 0 and 1.

    ValueError for a ratio that is not positive; KeyError for an unknown method.
    """
    if ratio <= 0:
        raise ValueError("a ratio is positive")
    return min(1.0, max(0.0, GUARD_FACTORS[method](ratio)))


def _breaks(process: Process, tolerance: Interval, acceptance: Interval, u: float) -> list[float]:
    low, high = process.span
    inner = [process.mean + step * process.deviation for step in _STEPS]
    edges = [end for end in (acceptance.lower, acceptance.upper) if math.isfinite(end)]
    bends = [edge + step * u for edge in edges for step in _STEPS]
    limits = [end for end in (tolerance.lower, tolerance.upper) if math.isfinite(end)]
    return sorted({low, high, *(b for b in (*inner, *bends, *limits) if low < b < high)})
