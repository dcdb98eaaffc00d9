"""What people read of a judgement: the verdict, its numbers in their unit, and the shape behind it."""

from fractions import Fraction
from typing import Any

from inspections.domain.bore import Bore
from inspections.domain.bore_shape import BoreShape, bore_shapes
from inspections.domain.characteristic import Characteristic, Method, RuleKind
from inspections.domain.flatness import Flatness
from inspections.domain.geometry_seen import geometry_seen
from inspections.domain.judging import Judgement
from inspections.domain.plausibility import believable, cell_window
from inspections.domain.quantities import shown_number
from inspections.domain.reader import Reader, reader_unit
from inspections.domain.residual_map import Cell, residual_map, residual_text
from inspections.domain.risk import uncertainty_ratio
from inspections.domain.tolerance import acceptance_limits
from inspections.domain.typed_reading import TypedReading

_HUNDREDTH = Fraction(1, 100)
_MAP_STEPS = {"in": Fraction(1, 10_000), "mm": Fraction(1, 1000)}


def judgement_document(judgement: Judgement, unit: str | None) -> dict[str, Any]:
    """The judgement in the reader's `unit`, where it measures the same thing; exact values beside it."""
    account, value = judgement.account, judgement.value
    wanted = account.characteristic
    expanded = account.uncertainty
    return {
        "verdict": judgement.verdict.value,
        "side": judgement.side.value if judgement.side else None,
        "value": None if value is None else shown_number(value, None),
        "exact": None if value is None else str(value),
        "unit": wanted.unit,
        "shown": shown_document(wanted, value, expanded, unit),
        "explanation": judgement.explained_in(reader_unit(wanted, unit)),
        "probability_of_conformity": judgement.probability,
        "uncertainty": None if expanded is None else shown_number(expanded, None),
        "test_uncertainty_ratio": _ratio(wanted, expanded),
        "questions": [{"code": p.code, "message": p.message, "cure": p.cure} for p in judgement.problems],
    }


def shown_document(
    wanted: Characteristic, value: Fraction | None, uncertainty: Fraction | None, unit: str | None
) -> dict[str, Any]:
    """Value and limits for the reader, rounded to what the gauge deserves; `passes` is between what a value passes."""
    name = reader_unit(wanted, unit)
    reader = Reader(wanted, name, uncertainty)
    limits = wanted.limits
    needs = uncertainty is not None or wanted.rule.kind is RuleKind.SIMPLE
    passing = acceptance_limits(limits, wanted.rule, uncertainty) if needs else None
    return {
        "unit": reader.target.symbol,
        "value": None if value is None else reader.number(value),
        "fraction": None if value is None else reader.fraction(value),
        "lower": _limit(reader, limits.lower),
        "upper": _limit(reader, limits.upper),
        "nominal": _limit(reader, wanted.nominal),
        "uncertainty": None if uncertainty is None else reader.uncertainty(uncertainty),
        "passes_from": _limit(reader, passing.lower) if passing else None,
        "passes_to": _limit(reader, passing.upper) if passing else None,
    }


def _limit(reader: Reader, value: Fraction | None) -> str | None:
    return None if value is None else reader.limit(value)


def _ratio(wanted: Characteristic, uncertainty: Fraction | None) -> str | None:
    ratio = uncertainty_ratio(wanted.limits, uncertainty) if uncertainty else None
    return None if ratio is None else shown_number(ratio, _HUNDREDTH)


def geometry_document(wanted: Characteristic, typed: TypedReading) -> dict[str, Any] | None:
    """The plate or bore behind a reading, lengths in the characteristic's unit; None for other readings."""
    if wanted.method not in (Method.FLATNESS_GRID, Method.BORE):
        return None
    seen = geometry_seen(wanted, typed)
    if isinstance(seen, Flatness):
        return {"plate": plate_document(seen, wanted.unit), "bore": None}
    if isinstance(seen, Bore):
        nominal = wanted.nominal if wanted.nominal and believable(wanted.nominal, cell_window(wanted)) else None
        return {"plate": None, "bore": bore_document(seen, nominal)}
    return None


def plate_document(seen: Flatness, unit: str) -> dict[str, Any]:
    """The minimum zone that decides, its proof, the other figures beside it, and the map for printing."""
    found = residual_map(seen)
    return {
        "minimum_zone": shown_number(seen.minimum_zone, None),
        "exact": str(seen.minimum_zone),
        "least_squares": shown_number(seen.least_squares, None),
        "raw_range": shown_number(seen.raw_range, None),
        "shape": seen.shape.value,
        "tilt": [shown_number(slope, None) for slope in seen.tilt],
        "deciding": [
            {
                "x": shown_number(one.point.x, None),
                "y": shown_number(one.point.y, None),
                "height": shown_number(one.point.z, None),
                "side": "high" if one.high else "low",
                "weight": str(one.weight),
            }
            for one in seen.deciding
        ],
        "residuals": [[_cell(cell) for cell in row] for row in found.rows],
        "map": residual_text(found, _MAP_STEPS.get(unit, Fraction(1, 10_000))),
    }


def _cell(cell: Cell) -> dict[str, Any]:
    return {
        "x": shown_number(cell.point.x, None),
        "y": shown_number(cell.point.y, None),
        "residual": shown_number(cell.residual, None),
        "decides": cell.mark.strip() or None,
    }


def bore_document(seen: Bore, nominal: Fraction | None) -> dict[str, Any]:
    """The elongation that decides; direction, taper, wear and shape beside it, as far as the points allow."""
    taper = seen.taper
    return {
        "elongation": shown_number(seen.elongation, None),
        "worst_depth": shown_number(seen.worst_depth, None),
        "direction": seen.direction,
        "largest": shown_number(seen.largest, None),
        "smallest": shown_number(seen.smallest, None),
        "taper": None if taper is None else shown_number(taper, None),
        "wear": None if nominal is None else shown_number(seen.wear(nominal), None),
        "shapes": [_shape(shape) for shape in bore_shapes(seen)],
    }


def _shape(shape: BoreShape) -> dict[str, Any]:
    squares, zone, oval = shape.least_squares_roundness, shape.minimum_zone_roundness, shape.oval
    return {
        "depth": shown_number(shape.depth, None),
        "least_squares_roundness": None if squares is None else shown_number(squares, None),
        "minimum_zone_roundness": None if zone is None else shown_number(zone, None),
        "oval": None
        if oval is None
        else {"mean": oval.mean, "elongation": oval.elongation, "direction": oval.direction},
        "note": shape.note,
    }
