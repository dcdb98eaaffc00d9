"""What is measured and how it is judged: the part of a procedure that the measuring room owns."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class Method(StrEnum):
    """How a characteristic is obtained from what is typed."""

    SINGLE = "single"  # one quantity, or repeats of it: the median is judged
    FLATNESS_GRID = "flatness_grid"  # heights over a grid: the minimum zone is judged
    BORE = "bore"  # diameters at angles and depths: the elongation is judged
    COUNT = "count"  # a whole number, no unit


class RuleKind(StrEnum):
    """How measurement uncertainty enters the verdict (JCGM 106:2012, 8.2 and 8.3)."""

    SIMPLE = "simple"
    GUARDED = "guarded"  # acceptance is guarded, rejection simple
    GUARDED_REJECTION = "guarded_rejection"  # acceptance is simple, rejection guarded
    GUARDED_BOTH = "guarded_both"  # within the guard band neither is taken as proven


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """Simple acceptance, or a guarded rule with guard band `guard` times U on each limit."""

    kind: RuleKind
    guard: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class Limits:
    """The tolerance interval, exact, in the characteristic's unit; `None` is one-sided."""

    lower: Fraction | None
    upper: Fraction | None
    lower_inclusive: bool = True
    upper_inclusive: bool = True


@dataclass(frozen=True, slots=True)
class Characteristic:
    """One measured characteristic. All bounds are in `unit`."""

    key: str
    title: str
    # "length", "angle", "torque", "force", "mass", "temperature", "distance", "turns" or "count"
    dimension: str
    unit: str  # "in", "mm", "deg", "lbf.ft", "N.m", "degF", "mi", "turn", "1"
    method: Method
    limits: Limits
    rule: DecisionRule
    nominal: Fraction | None = None
    # What the unit makes believable: outside it the reading is sent back
    plausible_lower: Fraction | None = None
    plausible_upper: Fraction | None = None
    repeats: int = 1  # how many repeat readings are asked for
    repeat_range: Fraction | None = None  # the largest believable spread among them
    instruments: tuple[str, ...] = ()  # the instrument kinds that may take it
    # The same for each height of a grid and each diameter of a bore; `plausible_*` bounds what comes of them
    cell_lower: Fraction | None = None
    cell_upper: Fraction | None = None
    cells: int | None = None  # how many heights or diameters are asked for
