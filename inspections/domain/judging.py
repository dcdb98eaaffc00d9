"""Judge one reading of one characteristic.

1. What cannot be read, or believed, is not judged: the verdict is NONE and the problems ask the question.
2. Repeats must be all there and agree; their median is judged. Grids and bores must be whole.
3. A guarded rule needs the gauge's expanded uncertainty; without it nothing is judged.
4. The verdict is `tolerance.decide` on exact rationals. The probability of conformity is shown, it decides
   nothing.
5. Flatness and elongation are differences of readings: their uncertainty is at most sqrt(2) times that of one
   reading (weights of a minimum zone's highs, and of its lows, sum to one), and that bound is used.
6. Fewer heights or diameters than asked for can only hide: too much stands as a fail, all else is not judged.

Example: jaw gap 0.180 to 0.260 in, guarded by U = 0.0102 in; .218 .221 .219 gives 0.219, pass; .187
conditional.
"""

from dataclasses import dataclass, field
from fractions import Fraction

from inspections.domain.characteristic import Characteristic, Method, RuleKind
from inspections.domain.explanation import Account, explain
from inspections.domain.measurement import Measured, measure
from inspections.domain.measuring_problem import MeasuringProblem
from inspections.domain.probability import conformity
from inspections.domain.tolerance import Decision, Side, Verdict, decide
from inspections.domain.typed_reading import TypedReading

__all__ = ["Judgement", "MeasuringProblem", "Side", "Verdict", "judge"]

_ZERO = Fraction(0)
_COVERAGE = 2  # U = k u
_ROOT_TWO = Fraction(99, 70)  # the convergent just above sqrt(2)


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict on one reading.

    `value` is the exact judged value in the characteristic's unit, `side` the limit it is beyond,
    `problems` why nothing was judged, `probability` that the true value conforms (None where no uncertainty
    is known).
    """

    verdict: Verdict
    value: Fraction | None
    side: Side | None
    problems: tuple[MeasuringProblem, ...]
    probability: float | None
    account: Account = field(repr=False, compare=False)

    @property
    def explanation(self) -> str:
        """One paragraph, in the characteristic's unit."""
        return explain(self.account)

    def explained_in(self, unit: str) -> str:
        """The same paragraph in the reader's unit; QuantityError if it is not a known unit."""
        return explain(self.account, unit)


def judge(
    characteristic: Characteristic,
    reading: TypedReading,
    uncertainty: Fraction | None,
    bias: Fraction = _ZERO,
) -> Judgement:
    """Judge `reading`.

    `uncertainty` is the gauge's expanded U (k = 2), `bias` what must be added to what it recorded to get
    the true value; both in the characteristic's unit. ValueError for a negative uncertainty; never for what
    was typed.
    """
    if uncertainty is not None and uncertainty < 0:
        raise ValueError("an uncertainty is not negative")
    u_reading = None if uncertainty is None else uncertainty / _COVERAGE
    measured = measure(characteristic, reading, u_reading, bias)
    value = measured.value
    if value is None:
        return _unjudged(characteristic, reading, measured.problems, uncertainty, bias)
    if uncertainty is None and characteristic.rule.kind is not RuleKind.SIMPLE:
        return _unjudged(characteristic, reading, (_UNCERTAINTY_UNKNOWN,), uncertainty, bias)
    expanded = _of_result(characteristic, uncertainty)
    decision = decide(value, characteristic.limits, characteristic.rule, expanded)
    short = _shortage(characteristic, measured, decision)
    if short:
        return _unjudged(characteristic, reading, (short,), uncertainty, bias)
    chance = None if expanded is None else conformity(value, characteristic.limits, expanded / _COVERAGE)
    side = decision.near if decision.outside else None
    account = Account(characteristic, _texts(reading), measured.cells, value, decision, (), expanded, bias, chance)
    return Judgement(decision.verdict, value, side, (), chance, account)


_UNCERTAINTY_UNKNOWN = MeasuringProblem(
    "uncertainty_unknown",
    "The uncertainty of the gauge is not known, and this characteristic is guarded by it.",
    "Measure with a gauge whose uncertainty is on record.",
)


def _unjudged(
    characteristic: Characteristic,
    reading: TypedReading,
    problems: tuple[MeasuringProblem, ...],
    uncertainty: Fraction | None,
    bias: Fraction,
) -> Judgement:
    account = Account(characteristic, _texts(reading), 0, None, None, problems, uncertainty, bias, None)
    return Judgement(Verdict.NONE, None, None, problems, None, account)


def _of_result(characteristic: Characteristic, uncertainty: Fraction | None) -> Fraction | None:
    if characteristic.method is Method.COUNT:
        return uncertainty if characteristic.rule.kind is not RuleKind.SIMPLE else None
    derived = characteristic.method in (Method.FLATNESS_GRID, Method.BORE)
    return uncertainty * _ROOT_TWO if derived and uncertainty is not None else uncertainty


def _shortage(characteristic: Characteristic, measured: Measured, decision: Decision) -> MeasuringProblem | None:
    asked = characteristic.cells
    too_much = decision.verdict is Verdict.FAIL and decision.near is Side.ABOVE  # what is missing can only add to it
    if asked is None or measured.cells >= asked or too_much:
        return None
    if characteristic.method is Method.FLATNESS_GRID:
        code, what = "grid_incomplete", "heights"
    elif characteristic.method is Method.BORE:
        code, what = "bore_incomplete", "diameters"
    else:
        return None
    message = f"{measured.cells} {what} were taken, {asked} are asked for."
    return MeasuringProblem(code, message, "Measure every place and enter them all.")


def _texts(reading: TypedReading) -> tuple[str, ...]:
    return tuple(f"{item.text.strip()} {'' if item.unit == '1' else item.unit}".strip() for item in reading.values)
