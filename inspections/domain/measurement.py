"""From what was typed to the one exact value that is judged, or to the problems that stand in the way.

A gauge found wrong by `bias` reads true = recorded + bias. On repeats the bias is added to the median. On a
bore it cancels, since elongation is a difference of two diameters. On a height grid it cancels too if every
height came from the gauge, but a point in contact (0) needed none: both ways are reckoned and the worse one
is judged.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from inspections.domain.bore import Bore, bore_from_diameters
from inspections.domain.characteristic import Characteristic, Method
from inspections.domain.flatness import flatness_of_grid
from inspections.domain.geometry_error import GeometryError
from inspections.domain.measuring_problem import MeasuringProblem
from inspections.domain.plausibility import (
    Window,
    believable,
    cell_window,
    plausible_window,
    question_of_missing_unit,
    question_of_unit,
)
from inspections.domain.quantities import (
    Quantity,
    QuantityError,
    number_alone,
    parse_quantity,
    read_number,
    required_unit,
    shown,
    shown_number,
)
from inspections.domain.repeats import allowed_spread, median, spread
from inspections.domain.typed_reading import TypedReading
from inspections.domain.units import Unit, converted, find_unit

_ANYTHING: Window = (None, None)
_ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Measured:
    """The value to judge, in the characteristic's unit, or None and why; `cells` is how many went in."""

    value: Fraction | None
    problems: tuple[MeasuringProblem, ...] = ()
    cells: int = 1


class Heights(NamedTuple):
    """Heights over a grid, exact: one row of `z` for each of `y`, one height for each of `x`."""

    x: list[Fraction]
    y: list[Fraction]
    z: list[list[Fraction]]


def measure(characteristic: Characteristic, reading: TypedReading, u: Fraction | None, bias: Fraction) -> Measured:
    """What `reading` gives; `u` is the gauge's standard uncertainty, for the range check."""
    try:
        unit = required_unit(characteristic.unit)
        if characteristic.method is Method.FLATNESS_GRID:
            return _flatness(characteristic, reading, unit, bias)
        if characteristic.method is Method.BORE:
            return _bore(characteristic, reading, unit)
        return _repeats(characteristic, reading, unit, u, bias)
    except (QuantityError, GeometryError) as error:
        return _stopped(MeasuringProblem(error.code, error.message, error.cure))


def _stopped(*problems: MeasuringProblem) -> Measured:
    return Measured(None, problems, 0)


def _repeats(
    characteristic: Characteristic, reading: TypedReading, unit: Unit, u: Fraction | None, bias: Fraction
) -> Measured:
    typed, asked = reading.values, max(1, characteristic.repeats)
    counted = characteristic.method is Method.COUNT
    window, values, problems = plausible_window(characteristic), [], []
    for item in typed:
        value = _read(item.text, item.unit or "1" if counted else item.unit, unit, window)
        if isinstance(value, MeasuringProblem):
            problems.append(value)
        elif counted and (value.denominator != 1 or value < 0):
            problems.append(MeasuringProblem("unreadable", f"{item.text} is not a count.", "Type a whole number."))
        else:
            values.append(value)
    if problems:
        return _stopped(*dict.fromkeys(problems))  # what is asked of three readings alike is asked once
    if len(values) < asked:
        return _stopped(_missing(len(values), asked))
    allowed = allowed_spread(len(values), characteristic.repeat_range, None if counted else u)
    if allowed is not None and spread(values) > allowed:
        return _stopped(_disagreement(values, allowed, unit))
    middle = values[0] if len(values) == 1 else median(values)
    return Measured(middle + bias if bias and not counted else middle, (), len(values))


def _read(text: str, typed_unit: str, unit: Unit, window: Window) -> Fraction | MeasuringProblem:
    """One typed number in `unit`, or the question it raises."""
    try:
        quantity = parse_quantity(text, typed_unit)
    except QuantityError as error:
        if error.code == "unit_missing":
            return _without_unit(text, unit, window)
        return MeasuringProblem(error.code, error.message, error.cure)
    return _believed(quantity, unit, window)


def _believed(quantity: Quantity, unit: Unit, window: Window) -> Fraction | MeasuringProblem:
    value = quantity.to(unit.symbol) if quantity.dimension == unit.dimension else None
    if value is None:
        message = f"{quantity.unit} is a unit of {quantity.dimension}; this is read in units of {unit.dimension}."
        return MeasuringProblem(
            "wrong_dimension", message, f"Choose a unit of {unit.dimension}, such as {unit.symbol}."
        )
    if believable(value, window):
        return value
    typed = required_unit(quantity.unit)
    return question_of_unit(quantity.value, number_alone(quantity.text), typed, unit, window)


def _without_unit(text: str, unit: Unit, window: Window) -> MeasuringProblem:
    try:
        said = read_number(text.strip())[1]
        if find_unit(said) is not None:
            message = f"{text.strip()}: the unit stands in the text, but not beside it."
            return MeasuringProblem("unit_missing", message, f"State the unit beside the number: {said}?")
        bare = parse_quantity(text, unit.symbol)
    except QuantityError as error:  # not even a number
        return MeasuringProblem(error.code, error.message, error.cure)
    return question_of_missing_unit(bare.value, text.strip(), unit, window)


def _flatness(characteristic: Characteristic, reading: TypedReading, unit: Unit, bias: Fraction) -> Measured:
    typed = typed_heights(characteristic, reading, unit)
    if not isinstance(typed, Heights):
        return _stopped(*typed)
    value = flatness_of_grid(*typed).minimum_zone
    if bias:
        lifted = [[z + bias if z else z for z in row] for row in typed.z]
        value = max(value, flatness_of_grid(typed.x, typed.y, lifted).minimum_zone)
    return _derived(characteristic, value, sum(map(len, typed.z)), reading.grid.unit if reading.grid else "", unit)


def in_contact(reading: TypedReading) -> bool:
    """Whether some height of the grid was typed as nought: a place in contact, which needed no gauge."""
    return any(_is_nought(text) for row in (reading.grid.z if reading.grid else ()) for text in row)


def _is_nought(text: str) -> bool:
    try:
        return not read_number(text.strip())[0]
    except QuantityError:
        return False


def typed_heights(
    characteristic: Characteristic, reading: TypedReading, unit: Unit
) -> "Heights | tuple[MeasuringProblem, ...]":
    """The grid as typed in `unit`, exact, or what is wrong with it."""
    grid = reading.grid
    if grid is None:
        return (_incomplete("grid_incomplete", "The heights over the grid were not given."),)
    gap = _gap(grid.z, len(grid.y), len(grid.x), "grid_incomplete", "height")
    if gap:
        return (gap,)
    places = _cells((grid.x, grid.y), grid.unit, unit, _ANYTHING)
    heights = _cells(grid.z, grid.unit, unit, cell_window(characteristic))
    if isinstance(places, MeasuringProblem) or isinstance(heights, MeasuringProblem):
        return tuple(p for p in (places, heights) if isinstance(p, MeasuringProblem))
    return Heights(places[0], places[1], heights)


def _bore(characteristic: Characteristic, reading: TypedReading, unit: Unit) -> Measured:
    typed = typed_bore(characteristic, reading, unit)
    if not isinstance(typed, Bore):
        return _stopped(*typed)
    cells = sum(map(len, typed.diameters))
    return _derived(characteristic, typed.elongation, cells, reading.bore.unit if reading.bore else "", unit)


def typed_bore(
    characteristic: Characteristic, reading: TypedReading, unit: Unit
) -> Bore | tuple[MeasuringProblem, ...]:
    """The bore as typed in `unit`, exact, or what is wrong with it. Raises GeometryError for what is no bore."""
    bore = reading.bore
    if bore is None:
        return (_incomplete("bore_incomplete", "The diameters of the bore were not given."),)
    gap = _gap(bore.diameters, len(bore.depths), len(bore.angles), "bore_incomplete", "diameter")
    if gap:
        return (gap,)
    depths = _cells((bore.depths,), bore.unit, unit, _ANYTHING)
    diameters = _cells(bore.diameters, bore.unit, unit, cell_window(characteristic))
    if isinstance(depths, MeasuringProblem) or isinstance(diameters, MeasuringProblem):
        return tuple(p for p in (depths, diameters) if isinstance(p, MeasuringProblem))
    return bore_from_diameters(bore.angles, depths[0], diameters)


def _derived(characteristic: Characteristic, value: Fraction, cells: int, typed: str, unit: Unit) -> Measured:
    """A value that came of many typed ones is believed or asked about like a typed one."""
    window = plausible_window(characteristic)
    if believable(value, window):
        return Measured(value, (), cells)
    typed_unit = required_unit(typed)
    number = converted(value, unit, typed_unit)
    text = f"{characteristic.title} {float(number):.4g}"
    return _stopped(question_of_unit(number, text, typed_unit, unit, window))


def _cells(
    rows: Sequence[Sequence[str]], typed: str, unit: Unit, window: Window
) -> list[list[Fraction]] | MeasuringProblem:
    """All cells in `unit`, or the first question among them: one wrong unit is one question, not fifteen."""
    table = []
    for row in rows:
        values = []
        for text in row:
            value = _read(text, typed, unit, window)
            if isinstance(value, MeasuringProblem):
                return value
            values.append(value)
        table.append(values)
    return table


def _gap(rows: Sequence[Sequence[str]], high: int, wide: int, code: str, what: str) -> MeasuringProblem | None:
    """The first place where the table is not whole."""
    if not high or not wide or len(rows) != high:
        return _incomplete(code, f"There are {len(rows)} rows of {what}s for {high} by {wide} places.")
    for at, row in enumerate(rows, 1):
        if len(row) != wide:
            return _incomplete(code, f"Row {at} has {len(row)} {what}s for {wide} places.")
        for place, text in enumerate(row, 1):
            if not text.strip():
                return _incomplete(code, f"The {what} in row {at}, place {place}, is missing.")
    return None


def _incomplete(code: str, message: str) -> MeasuringProblem:
    return MeasuringProblem(code, message, "Measure every place and enter them all.")


def _missing(found: int, asked: int) -> MeasuringProblem:
    if not found:
        return MeasuringProblem("repeats_missing", "No reading was typed.", f"Take {asked}, and enter all.")
    message = f"{found} of {asked} readings were typed."
    return MeasuringProblem("repeats_missing", message, f"Take {asked} readings and enter them all.")


def _disagreement(values: Sequence[Fraction], allowed: Fraction, unit: Unit) -> MeasuringProblem:
    apart, most = shown(spread(values), unit.symbol, None), shown_number(allowed, None)
    message = f"The readings lie {apart} apart; at most {most} is believable."
    return MeasuringProblem("repeats_disagree", message, "Take again.")
