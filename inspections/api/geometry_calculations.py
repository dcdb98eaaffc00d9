"""Flatness from heights or from straightedge gaps, roundness of a traced hole, the fit of a pin."""

from dataclasses import asdict
from typing import Any

from rest_framework import serializers

from inspections.api.calculation_view import calculation_view
from inspections.api.instrument_schemas import QuantityText
from inspections.api.judgement_schemas import BoreDocument, PlateDocument
from inspections.api.typed_values import Typed, UnitText, answering
from inspections.domain.bore import bore_from_diameters
from inspections.domain.flatness import MOST_POINTS, flatness_of_points
from inspections.domain.geometry_error import GeometryError
from inspections.domain.pin_fit import pin_in_bore
from inspections.domain.quantities import shown_number
from inspections.domain.roundness import Circle, least_squares_circle, minimum_zone_circle
from inspections.domain.straightedge import Station, flatness_by_straightedge
from inspections.queries.judgement_views import bore_document, plate_document
from shops.api.bodies import Body
from shops.api.fields import Whole

_MOST = 10_000


class HeightBody(Body):
    x = QuantityText()
    y = QuantityText()
    z = QuantityText("The height.")


class FlatnessBody(Body):
    unit = UnitText()
    points = serializers.ListField(child=HeightBody(), max_length=_MOST)


def flatness(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/unit", body["unit"], "length")
    with answering("/points"):
        _refuse_too_many(len(body["points"]))
    points = [
        (
            typed.number(f"/points/{at}/x", one["x"], unit),
            typed.number(f"/points/{at}/y", one["y"], unit),
            typed.number(f"/points/{at}/z", one["z"], unit),
        )
        for at, one in enumerate(body["points"])
    ]
    typed.finish()
    with answering("/points"):
        return plate_document(flatness_of_points(points), unit)


def _refuse_too_many(count: int) -> None:
    """Before so many are read: the domain says the same, but only after."""
    if count > MOST_POINTS:
        raise GeometryError(
            "too_many_points",
            f"{count} points are more than the {MOST_POINTS} that are judged exactly",
            f"Send at most {MOST_POINTS} points, spread over the whole plate.",
        )


class StationBody(Body):
    x = QuantityText()
    y = QuantityText()
    gap = QuantityText("0 where the edge touches.")


class PlacementBody(Body):
    stations = serializers.ListField(child=StationBody(), max_length=400)


class GapsBody(Body):
    unit = UnitText()
    placements = serializers.ListField(
        child=PlacementBody(), max_length=400, help_text="One for each position of the straightedge."
    )


class GapsAnswer(serializers.Serializer[Any]):
    plate = PlateDocument()
    closure = serializers.CharField(
        allow_null=True, help_text="How far positions disagree where they cross; null with no crossing to spare."
    )
    largest_gap = serializers.CharField(help_text="The bench's figure. It is not the flatness.")


def flatness_from_gaps(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/unit", body["unit"], "length")
    placements = [
        [
            _station(typed, f"/placements/{at}/stations/{number}", one, unit)
            for number, one in enumerate(each["stations"])
        ]
        for at, each in enumerate(body["placements"])
    ]
    typed.finish()
    with answering("/placements"):
        found = flatness_by_straightedge(placements)
    return {
        "plate": plate_document(found.flatness, unit),
        "closure": None if found.closure is None else shown_number(found.closure, None),
        "largest_gap": shown_number(found.largest_gap, None),
    }


def _station(typed: Typed, pointer: str, one: dict[str, str], unit: str) -> Station:
    x, y, gap = (typed.number(f"{pointer}/{name}", one[name], unit) for name in ("x", "y", "gap"))
    return Station(x, y, gap)


class PlaceBody(Body):
    x = QuantityText()
    y = QuantityText()


class RoundnessBody(Body):
    unit = UnitText()
    points = serializers.ListField(child=PlaceBody(), max_length=_MOST)


class CircleAnswer(serializers.Serializer[Any]):
    x = serializers.FloatField()
    y = serializers.FloatField()
    radius = serializers.FloatField()
    roundness = serializers.FloatField(help_text="Largest less smallest radius about this centre.")
    deviation = serializers.FloatField(help_text="Root mean square distance from the circle.")


class RoundnessAnswer(serializers.Serializer[Any]):
    least_squares = CircleAnswer()
    minimum_zone = CircleAnswer()
    unit = serializers.CharField()


def roundness(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/unit", body["unit"], "length")
    points = [
        (typed.number(f"/points/{at}/x", one["x"], unit), typed.number(f"/points/{at}/y", one["y"], unit))
        for at, one in enumerate(body["points"])
    ]
    typed.finish()
    with answering("/points"):
        squares, zone = least_squares_circle(points), minimum_zone_circle(points)
    return {"least_squares": _circle(squares), "minimum_zone": _circle(zone), "unit": unit}


def _circle(circle: Circle) -> dict[str, Any]:
    """Shown only, so ten digits are plenty."""
    return {name: float(f"{value:.10g}") for name, value in asdict(circle).items()}


class PinFitBody(Body):
    unit = UnitText(help_text="Of every length.")
    angles = serializers.ListField(child=Whole(), max_length=100, help_text="Degrees, 0 to 179.")
    depths = serializers.ListField(child=QuantityText(), max_length=100)
    diameters = serializers.ListField(
        child=serializers.ListField(child=QuantityText(), max_length=100),
        max_length=100,
        help_text="One row for each depth, one diameter for each angle.",
    )
    pin = serializers.ListField(child=QuantityText(), max_length=100, help_text="Diameters of the pin.")
    length = QuantityText("Of the bore along the pin.")
    nominal_bore = QuantityText()
    nominal_pin = QuantityText()
    arm = QuantityText("How far from the bore's middle the movement is asked for.", required=False)


class PinFitAnswer(serializers.Serializer[Any]):
    goes_in = serializers.BooleanField()
    smallest_clearance = serializers.CharField()
    largest_clearance = serializers.CharField()
    clearance_as_made = serializers.CharField()
    bore_wear = serializers.CharField()
    pin_wear = serializers.CharField()
    tilt_degrees = serializers.FloatField()
    movement = serializers.CharField(allow_null=True, help_text="At the arm, to either side.")
    unit = serializers.CharField()
    bore = BoreDocument()


def pin_fit(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/unit", body["unit"], "length")
    depths = typed.numbers("/depths", body["depths"], unit)
    diameters = typed.table("/diameters", body["diameters"], unit)
    pin = typed.numbers("/pin", body["pin"], unit)
    length, nominal_bore, nominal_pin = (
        typed.number(f"/{name}", body[name], unit) for name in ("length", "nominal_bore", "nominal_pin")
    )
    arm = typed.maybe("/arm", body.get("arm"), unit)
    typed.finish()
    with answering("/diameters"):
        bore = bore_from_diameters(body["angles"], depths, diameters)
    with answering("/pin"):
        fit = pin_in_bore(bore, pin, length=length, nominal_bore=nominal_bore, nominal_pin=nominal_pin)
    lengths = ("smallest_clearance", "largest_clearance", "clearance_as_made", "bore_wear", "pin_wear")
    return {
        "goes_in": fit.goes_in,
        **{name: shown_number(getattr(fit, name), None) for name in lengths},
        "tilt_degrees": round(fit.tilt_degrees, 4),
        "movement": None if arm is None else shown_number(fit.movement_at(arm), None),
        "unit": unit,
        "bore": bore_document(bore, nominal_bore),
    }


_HEIGHTS = ((".001", ".003", ".008"), (".002", ".010", ".008"), (".000", ".000", ".011"))
_GAPS = {
    ("0,0", "8,9", "16,18"): ("0", ".004", "0"),
    ("16,0", "8,9", "0,18"): ("0", ".004", "0"),
    ("0,0", "8,0", "16,0"): ("0", ".003", "0"),
    ("0,18", "8,18", "16,18"): ("0", ".003", "0"),
    ("0,0", "0,9", "0,18"): ("0", ".002", "0"),
    ("16,0", "16,9", "16,18"): ("0", ".002", "0"),
}


def _place(text: str) -> dict[str, str]:
    x, y = text.split(",")
    return {"x": x, "y": y}


FlatnessesView = calculation_view(
    "FlatnessesView",
    summary="Find how flat a plate is from heights at known places",
    description="Exact minimum zone with its proof, least squares beside it, shape, tilt, and a map for printing.",
    body=FlatnessBody,
    answer=PlateDocument,
    compute=flatness,
    example={
        "unit": "in",
        "points": [
            {"x": str(8 * along), "y": str(9 * across), "z": height}
            for across, row in enumerate(_HEIGHTS)
            for along, height in enumerate(row)
        ],
    },
)
GapFlatnessesView = calculation_view(
    "GapFlatnessesView",
    summary="Find how flat a plate is from feeler gaps under a straightedge",
    description="At least both diagonals and the four sides, three places on each; how the edge lies is not assumed.",
    body=GapsBody,
    answer=GapsAnswer,
    compute=flatness_from_gaps,
    example={
        "unit": "in",
        "placements": [
            {"stations": [{**_place(place), "gap": gap} for place, gap in zip(places, gaps, strict=True)]}
            for places, gaps in _GAPS.items()
        ],
    },
)
RoundnessesView = calculation_view(
    "RoundnessesView",
    summary="Find how round a traced hole is",
    description="Least-squares and minimum-zone circle. Shown only: no verdict rests on it.",
    body=RoundnessBody,
    answer=RoundnessAnswer,
    compute=roundness,
    example={
        "unit": "in",
        "points": [
            {"x": x, "y": y}
            for x, y in (
                ("1.5", "0"),
                ("0", "1.5"),
                ("-1.5", "0"),
                ("0", "-1.5"),
                ("1.063", "1.063"),
                ("-1.061", "1.061"),
            )
        ],
    },
)
PinFitsView = calculation_view(
    "PinFitsView",
    summary="Find how loosely a pin sits in its bore, and how far the part can tilt on it",
    description="Clearance as made, wear of bore and pin, elongation with its direction, tilt and movement at an arm.",
    body=PinFitBody,
    answer=PinFitAnswer,
    compute=pin_fit,
    example={
        "unit": "in",
        "angles": [0, 45, 90, 135],
        "depths": ["0.5"],
        "diameters": [["1.503", "1.548", "1.566", "1.531"]],
        "pin": ["1.490"],
        "length": "3",
        "nominal_bore": "1.500",
        "nominal_pin": "1.495",
        "arm": "6",
    },
)
