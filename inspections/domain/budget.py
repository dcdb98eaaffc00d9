"""An uncertainty budget: what a gauge does not know, line by line, and the U that comes of it.

1. A line is a half-width or deviation in its own unit, a distribution that turns it into a variance, and a
   sensitivity that turns it into the unit of the result (GUM, JCGM 100:2008, 4.3 and 5.1).
2. Variances are exact: a^2/3 rectangular, a^2/6 triangular, a^2/2 arcsine, s^2 for a deviation, (U/k)^2 for a
   certificate. Lines are independent, so u_c^2 is their sum (GUM, 5.1.2).
3. Effective degrees of freedom: Welch-Satterthwaite, exact, then truncated to a whole number (GUM, G.4.1
   and G.6.4).
4. U = k u_c, rounded *up* to the step asked for, so that rounding never makes a gauge better than it is.

Example: a feeler set with bracket step 0.010 in, blade +-0.001, feel 0.003 and face +-0.005 has U = 0.0102
in.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import isqrt, sqrt

from inspections.domain.probability import normal_quantile, student_coverage

_TWO = Fraction(2)
_MANY = 10_000  # degrees of freedom: k for 95 % is 1.960 from here on, to three places


class Distribution(StrEnum):
    """What the figure of a line means."""

    RECTANGULAR = "rectangular"  # anywhere within +- the figure, all alike
    TRIANGULAR = "triangular"  # within +- the figure, the middle likelier
    ARCSINE = "arcsine"  # within +- the figure, the ends likelier
    NORMAL = "normal"  # the figure is a standard deviation
    EXPANDED = "expanded"  # the figure is a U of a certificate, with its k


_SQUARED_DIVISORS = {
    Distribution.RECTANGULAR: Fraction(3),
    Distribution.TRIANGULAR: Fraction(6),
    Distribution.ARCSINE: Fraction(2),
    Distribution.NORMAL: Fraction(1),
}


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a budget; `degrees` of freedom None means known for good, `k` counts for EXPANDED only."""

    name: str
    figure: Fraction
    distribution: Distribution
    sensitivity: Fraction = Fraction(1)
    degrees: Fraction | None = None
    k: Fraction = _TWO

    def __post_init__(self) -> None:
        """ValueError for a negative figure, a k or degrees of freedom that are not positive."""
        if self.figure < 0 or self.k <= 0 or (self.degrees is not None and self.degrees <= 0):
            raise ValueError(f"{self.name}: a figure is not negative, k and degrees of freedom are positive")

    @property
    def variance(self) -> Fraction:
        """(c u)^2, exact, in the square of the result's unit."""
        divisor = self.k**2 if self.distribution is Distribution.EXPANDED else _SQUARED_DIVISORS[self.distribution]
        return self.sensitivity**2 * self.figure**2 / divisor


@dataclass(frozen=True, slots=True)
class Budget:
    """The lines of one measurement, and their unit."""

    title: str
    unit: str
    lines: tuple[Line, ...]

    @property
    def variance(self) -> Fraction:
        """u_c^2, exact."""
        return sum((line.variance for line in self.lines), Fraction(0))

    @property
    def standard_uncertainty(self) -> float:
        """u_c, for display."""
        return sqrt(self.variance)

    def expanded(self, step: Fraction, k: Fraction = _TWO) -> Fraction:
        """U = k u_c, exactly rounded up to a multiple of `step`; ValueError unless both are positive."""
        if step <= 0 or k <= 0:
            raise ValueError("a step and a coverage factor are positive")
        return least_root_multiple(k**2 * self.variance, step)

    @property
    def effective_degrees(self) -> Fraction | None:
        """u_c^4 / sum(u_i^4 / nu_i), exact and not truncated; None if every line is known for good."""
        finite = ((line.variance, line.degrees) for line in self.lines if line.degrees is not None)
        doubt = sum((variance**2 / degrees for variance, degrees in finite), Fraction(0))
        return self.variance**2 / doubt if doubt else None

    def coverage_factor(self, confidence: float = 0.95) -> float:
        """The k for this confidence: Student's distribution at the truncated degrees of freedom."""
        degrees = self.effective_degrees
        if degrees is None:
            return normal_quantile((1 + confidence) / 2)
        return student_coverage(confidence, min(max(1, int(degrees)), _MANY))

    def share(self, line: Line) -> Fraction:
        """How much of the variance this line makes, 0 to 1; 0 in a budget of nothing."""
        return line.variance / self.variance if self.variance else Fraction(0)

    def table(self, step: Fraction, k: Fraction = _TWO) -> str:
        """The budget as fixed-width text, for printing."""
        rows = [
            ("source", "figure", "distribution", "sensitivity", f"u ({self.unit})", "share"),
            *map(self._row, self.lines),
        ]
        widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
        lines = [_ruled(row, widths) for row in rows]
        lines.insert(1, "-" * len(lines[0]))
        return "\n".join([self.title, *lines, self._sum(step, k)]) + "\n"

    def _row(self, line: Line) -> tuple[str, ...]:
        kind = str(line.distribution)
        if line.distribution is Distribution.EXPANDED:
            kind += f", k = {float(line.k):g}"
        share = f"{float(100 * self.share(line)):.1f} %"
        u = f"{sqrt(line.variance):.3g}"
        return line.name, f"{float(line.figure):g}", kind, f"{float(line.sensitivity):g}", u, share

    def _sum(self, step: Fraction, k: Fraction) -> str:
        degrees = self.effective_degrees
        freedom = "no limit" if degrees is None else str(int(degrees))
        combined = f"u = {self.standard_uncertainty:.3g} {self.unit}; effective degrees of freedom: {freedom}"
        return f"{combined}; U = {float(self.expanded(step, k)):g} {self.unit} (k = {float(k):g}, rounded up)"


def least_root_multiple(square: Fraction, step: Fraction) -> Fraction:
    """The least multiple of `step` that is not below the square root of `square`, in whole numbers only."""
    ratio = square / step**2
    whole = isqrt(ratio.numerator // ratio.denominator)
    return (whole if whole * whole == ratio else whole + 1) * step


def _ruled(row: tuple[str, ...], widths: list[int]) -> str:
    return "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
