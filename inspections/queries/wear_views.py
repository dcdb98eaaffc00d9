"""What people read of wear."""

from fractions import Fraction
from typing import Any

from inspections.domain.quantities import shown_number
from inspections.domain.wear import Wear

_FINE = Fraction(1, 1_000_000)


def wear_document(found: Wear, points: int, unit: str, distance_unit: str) -> dict[str, Any]:
    line = found.line
    return {
        "status": found.status.value,
        "message": found.message,
        "points": points,
        "slope": None if line is None else shown_number(line.slope * 1000, _FINE),
        "slope_error": None if line is None else shown_number(line.slope_error * 1000, _FINE),
        "distance_left": found.distance_left,
        "confidence": shown_number(found.confidence, None),
        "unit": unit,
        "distance_unit": distance_unit,
    }
