"""An odometer as typed: a distance, or why it is none."""

from fractions import Fraction

from inspections.domain.quantities import QuantityError, parse_quantity
from inspections.domain.typed_reading import TypedValue

MILE = "mi"
_FURTHEST = Fraction(10_000_000)  # no truck has gone so far


def read_odometer(typed: TypedValue) -> Fraction | str:
    """The distance in miles, exact; or in words what is wrong with it."""
    try:
        quantity = parse_quantity(typed.text, typed.unit)
        distance = quantity.to(MILE)
    except QuantityError as error:
        return error.message
    if not 0 <= distance <= _FURTHEST:
        return f"{typed.text} {quantity.unit} cannot be meant."
    return distance
