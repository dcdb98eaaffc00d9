"""Can this have been meant? A reading believable only in another unit becomes a question.

Nothing is corrected on a guess: the question names the unit that would fit, and the person answers it.
"""

from fractions import Fraction

from inspections.domain.characteristic import Characteristic
from inspections.domain.measuring_problem import MeasuringProblem
from inspections.domain.quantities import shown
from inspections.domain.units import UNITS, Unit, converted, likely_units

_SHOWN = {"in": Fraction(1, 1000), "mm": Fraction(1, 100), "thou": Fraction(1), "cm": Fraction(1, 1000)}
_FRACTIONS = frozenset({"in", "ft", "mi", "turn"})  # units of which people type halves and 64ths
Window = tuple[Fraction | None, Fraction | None]


def plausible_window(characteristic: Characteristic) -> Window:
    """What the judged value must lie between to be believed, in the characteristic's unit."""
    return characteristic.plausible_lower, characteristic.plausible_upper


def cell_window(characteristic: Characteristic) -> Window:
    """What each height or diameter must lie between to be believed, in the characteristic's unit."""
    return characteristic.cell_lower, characteristic.cell_upper


def believable(value: Fraction, window: Window) -> bool:
    """Whether `value` lies in the window, ends included."""
    low, high = window
    return (low is None or value >= low) and (high is None or value <= high)


def question_of_unit(number: Fraction, text: str, typed: Unit, target: Unit, window: Window) -> MeasuringProblem:
    """The question about `number`, which is not believable in `typed`: "5.6 in? 5.6 mm is 0.220 in."."""
    meant = _as_typed(text, fitting_units(number, target, window))
    if not meant:
        bounds = _bounds(window, target)
        message = f"{text} {typed.symbol}? That cannot be read here: it should be {bounds}."
        return MeasuringProblem("implausible", message, "Measure again, and check the number and the unit.")
    message = f"{text} {typed.symbol}? {_offer(number, text, meant[0], target)}."
    cure = f"If you meant {text} {meant[0].symbol}, enter it so; otherwise measure again."
    return MeasuringProblem("implausible_unit", message, cure)


def question_of_missing_unit(number: Fraction, text: str, target: Unit, window: Window) -> MeasuringProblem:
    """The question about a number without a unit, naming the units in which it would be believable."""
    meant = _as_typed(text, fitting_units(number, target, window))[:2]
    offers = "; ".join(_offer(number, text, unit, target) for unit in meant if unit.symbol != target.symbol)
    message = f"{text} of what?" + (f" {offers}." if offers else "")
    names = " or ".join(unit.symbol for unit in meant) or target.symbol
    return MeasuringProblem("unit_missing", message, f"State the unit: {names}?")


def fitting_units(number: Fraction, target: Unit, window: Window) -> list[Unit]:
    """The usual units of the dimension in which `number` would be believable, likeliest first."""
    units = (UNITS[symbol] for symbol in likely_units(target.dimension))
    return [unit for unit in units if believable(converted(number, unit, target), window)]


def _as_typed(text: str, units: list[Unit]) -> list[Unit]:
    """Those of `units` in which a person would type such a text: nobody types 1 7/32 mm."""
    return [unit for unit in units if "/" not in text or unit.symbol in _FRACTIONS]


def _offer(number: Fraction, text: str, unit: Unit, target: Unit) -> str:
    value = converted(number, unit, target)
    return f"{text} {unit.symbol} is {shown(value, target.symbol, _SHOWN.get(target.symbol, Fraction(1, 10)))}"


def _bounds(window: Window, unit: Unit) -> str:
    low, high = (None if end is None else shown(end, unit.symbol, None) for end in window)
    if low is None:
        return f"at most {high}"
    return f"at least {low}" if high is None else f"from {low} to {high}"
