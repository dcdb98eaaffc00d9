"""What may be registered as an instrument, and what a calibration of it may say.

1. Range, resolution and expanded uncertainty (k = 2) are quantities in the instrument's own unit.
2. The unit fits the kind: torque for a torque wrench, temperature for a thermometer, length for all others.
3. The range does not end before it begins; the resolution is above zero; the uncertainty is not below.
4. A calibration lists its points as reference and indicated values in that unit; it was done before it is
   recorded, and the next one is due after it.
5. One that found the instrument in tolerance leaves it as found; one that adjusted it says how it left it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from inspections.domain.instruments import CalibrationResult, InstrumentKind
from inspections.domain.quantities import QuantityError, parse_quantity, required_unit
from shops.domain.errors import BadInput, FieldProblem

_DIMENSIONS: Mapping[InstrumentKind, str] = {
    InstrumentKind.TORQUE_WRENCH: "torque",
    InstrumentKind.THERMOMETER: "temperature",
}


@dataclass(frozen=True, slots=True)
class Specification:
    """An instrument as registered: exact values in `unit`, a canonical symbol."""

    kind: InstrumentKind
    unit: str
    low: Fraction
    high: Fraction
    resolution: Fraction
    uncertainty: Fraction


@dataclass(frozen=True, slots=True)
class PointText:
    """A point of a calibration as typed."""

    reference: str
    indicated: str


@dataclass(frozen=True, slots=True)
class Point:
    reference: Fraction
    indicated: Fraction


def read_specification(kind: InstrumentKind, unit: str, typed: Mapping[str, str]) -> Specification:
    """`typed` holds range_low, range_high, resolution, uncertainty. Raises BadInput with every problem."""
    try:
        found = required_unit(unit)
    except QuantityError as error:
        raise BadInput(problems=[FieldProblem("/unit", error.message, error.cure)]) from None
    problems: list[FieldProblem] = []
    wanted = _DIMENSIONS.get(kind, "length")
    if found.dimension != wanted:
        detail = f"{found.symbol} is a unit of {found.dimension}; a {kind.replace('_', ' ')} reads {wanted}."
        problems.append(FieldProblem("/unit", detail, f"Give a unit of {wanted}."))
    values = {name: _read(text, found.symbol, f"/{name}", problems) for name, text in typed.items()}
    if not problems:
        problems = list(_odd_values(values))
    if problems:
        raise BadInput(problems=problems)
    return Specification(
        kind,
        found.symbol,
        values["range_low"],
        values["range_high"],
        values["resolution"],
        values["uncertainty"],
    )


def read_points(typed: Sequence[PointText], unit: str, pointer: str) -> tuple[Point, ...]:
    """Raises BadInput with every value that cannot be read."""
    problems: list[FieldProblem] = []
    points = tuple(
        Point(
            _read(point.reference, unit, f"{pointer}/{at}/reference", problems),
            _read(point.indicated, unit, f"{pointer}/{at}/indicated", problems),
        )
        for at, point in enumerate(typed)
    )
    if problems:
        raise BadInput(problems=problems)
    return points


def calibration_problems(
    *, performed_at: datetime, due_at: datetime, result: CalibrationResult, as_left: Sequence[object], now: datetime
) -> Iterator[FieldProblem]:
    if performed_at > now:
        yield FieldProblem("/performed_at", "This is in the future.", "Send when it was done.")
    if due_at <= performed_at:
        yield FieldProblem("/due_at", "This is not after performed_at.", "Send when the next one is due.")
    if result is CalibrationResult.ADJUSTED and not as_left:
        yield FieldProblem("/as_left", "An adjusted instrument has no points as left.", "Send them.")


def _read(text: str, unit: str, pointer: str, problems: list[FieldProblem]) -> Fraction:
    """The value; on a problem it is noted, and zero stands in for the value that nobody will use."""
    try:
        return parse_quantity(text, unit).value
    except QuantityError as error:
        problems.append(FieldProblem(pointer, error.message, error.cure))
        return Fraction(0)


def _odd_values(values: Mapping[str, Fraction]) -> Iterator[FieldProblem]:
    if values["range_high"] < values["range_low"]:
        yield FieldProblem("/range_high", "The range ends below its beginning.", "Send the larger value here.")
    if values["resolution"] <= 0:
        yield FieldProblem("/resolution", "A resolution is above zero.", "Send the smallest step it shows.")
    if values["uncertainty"] < 0:
        yield FieldProblem("/uncertainty", "An uncertainty is not below zero.", "Send the expanded uncertainty, k = 2.")
