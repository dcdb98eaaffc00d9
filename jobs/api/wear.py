"""Wear of a unit's coupling, and its next inspection."""

from fractions import Fraction
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.instrument_schemas import QuantityText
from inspections.api.typed_values import Typed
from inspections.api.wear_calculations import EXAMPLE_ANSWER, WearAnswer
from jobs.api.next_inspection import INSPECTION, NextInspectionSchema
from jobs.queries.company_facts import company_facts
from jobs.queries.unit_wear import history_of, wear_of_unit
from jobs.services.require_undated import require_undated
from shops.api.bodies import Body, read_query
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY
from shops.domain.errors import BadInput, NotFound, NotPermitted
from shops.queries.units import find_unit

EXAMPLE: dict[str, Any] = {
    "unit": "019ca000-0000-7000-8000-000000004107",
    "points": [
        {
            "job": "019cadd4-0a80-7f00-8a41-07a1b2c3d4e5",
            "at": "2026-03-02T20:25:00Z",
            "odometer": "412306",
            "distance": "0",
            "play": "0.013",
            "kind": "after_adjusting",
        }
    ],
    "limit": "0.04",
    "wear": {
        **EXAMPLE_ANSWER,
        "status": "too_few_points",
        "message": "Too few points: 1. A rate of wear needs three readings or more, at more than one distance. Nothing "
        "is said about the distance left.",
        "points": 1,
        "slope": None,
        "slope_error": None,
        "distance_left": None,
    },
    "next_inspection": INSPECTION,
}


class WearQuery(Body):
    confidence = QuantityText("One-sided, 0.5 to 0.9999; 0.95, if left out.", required=False)


class PlayPointSchema(serializers.Serializer[Any]):
    job = serializers.UUIDField()
    at = serializers.DateTimeField()
    odometer = serializers.CharField(allow_null=True, help_text="Miles.")
    distance = serializers.CharField(help_text="Miles run since the adjustment before.")
    play = serializers.CharField(help_text="In the unit of the wear.")
    kind = serializers.ChoiceField(["after_adjusting", "as_found"])


class UnitWearSchema(serializers.Serializer[Any]):
    unit = serializers.UUIDField()
    points = PlayPointSchema(many=True)
    limit = serializers.CharField(allow_null=True)
    wear = WearAnswer(allow_null=True, help_text="Null if the procedures measure no play that an adjustment sets.")
    next_inspection = NextInspectionSchema(allow_null=True, help_text="After the last release.")


class UnitWearView(RecordView):
    @operation(
        summary="Read how a unit's coupling wears, and when it is to be inspected next",
        description="Play after adjusting and play as found at the next rebuild, over the miles between. The reading "
        "that sends back to the adjustment shows the play; `as-found-` and its key is what was found. Too few points "
        "are said to be too few.",
        roles=EVERYBODY,
        answers={200: UnitWearSchema},
        example=EXAMPLE,
        problems=[NotFound, NotPermitted, BadInput],
        parameters=[WearQuery],
        tag="Units",
    )
    def get(self, request: Request, unit: UUID) -> Response:
        confidence = _confidence(read_query(WearQuery, request))
        find_unit(self.grant, unit)
        require_undated(self.grant)
        facts = company_facts(self.grant.company, self.grant.facts_version).facts
        return Response({"unit": unit, **wear_of_unit(history_of(self.grant, unit, facts), confidence)})


def _confidence(asked: dict[str, Any]) -> Fraction:
    typed = Typed()
    found = typed.number("/confidence", asked.get("confidence", "0.95"))
    if not typed.problems and not Fraction(1, 2) <= found <= Fraction(9999, 10_000):
        typed.refuse("/confidence", "A confidence lies between 0.5 and 0.9999.", "Send it in decimals, such as 0.95.")
    typed.finish()
    return found
