"""How play grows with distance, and how far it is to the limit."""

from fractions import Fraction
from typing import Any

from rest_framework import serializers

from inspections.api.calculation_view import calculation_view
from inspections.api.instrument_schemas import QuantityText
from inspections.api.typed_values import Typed, UnitText, answering
from inspections.domain.wear import WearPoint, WearStatus, judge_wear
from inspections.queries.wear_views import wear_document
from shops.api.bodies import Body, read_body

_MOST = 1000


class WearPointBody(Body):
    distance = QuantityText()
    play = QuantityText()


class WearBody(Body):
    unit = UnitText(help_text="Of play and limit.")
    distance_unit = UnitText(help_text="mi or km.")
    points = serializers.ListField(child=WearPointBody(), max_length=_MOST)
    limit = QuantityText("The largest play.")
    confidence = QuantityText("One-sided, in decimals; 0.95, if left out.", required=False)


class WearAnswer(serializers.Serializer[Any]):
    status = serializers.ChoiceField([status.value for status in WearStatus])
    message = serializers.CharField()
    points = serializers.IntegerField()
    slope = serializers.CharField(allow_null=True, help_text="Play in 1000 units of distance.")
    slope_error = serializers.CharField(allow_null=True, help_text="Standard error of the slope, likewise.")
    distance_left = serializers.IntegerField(
        allow_null=True,
        help_text="From the point furthest run, and of a unit from its latest; null where no limit is in sight.",
    )
    confidence = serializers.CharField()
    unit = serializers.CharField()
    distance_unit = serializers.CharField()


def wear(body: dict[str, Any]) -> dict[str, Any]:
    typed = Typed()
    unit = typed.unit("/unit", body["unit"], "length")
    distance_unit = typed.unit("/distance_unit", body["distance_unit"], "distance")
    points = tuple(
        WearPoint(
            typed.number(f"/points/{at}/distance", one["distance"], distance_unit),
            typed.number(f"/points/{at}/play", one["play"], unit),
        )
        for at, one in enumerate(body["points"])
    )
    limit = typed.number("/limit", body["limit"], unit)
    confidence = typed.number("/confidence", body.get("confidence", "0.95"))
    if not Fraction(1, 2) <= confidence <= Fraction(9999, 10_000):
        typed.refuse("/confidence", "A confidence lies between 0.5 and 0.9999.", "Send it in decimals, such as 0.95.")
    typed.finish()
    with answering("/points"):
        found = judge_wear(points, limit, confidence, unit, distance_unit)
    return wear_document(found, len(points), unit, distance_unit)


EXAMPLE: dict[str, Any] = {
    "unit": "in",
    "distance_unit": "mi",
    "points": [
        {"distance": "0", "play": "0.013"},
        {"distance": "11200", "play": "0.019"},
        {"distance": "24900", "play": "0.024"},
        {"distance": "37100", "play": "0.031"},
    ],
    "limit": "0.060",
}
EXAMPLE_ANSWER = wear(read_body(WearBody, EXAMPLE))
WearView = calculation_view(
    "WearView",
    summary="Reckon how play grows with distance, and how far it is to the limit",
    description="Least squares with its standard error; the distance left is an upper prediction bound. Too few points "
    "are said to be too few.",
    body=WearBody,
    answer=WearAnswer,
    compute=wear,
    example=EXAMPLE,
)
