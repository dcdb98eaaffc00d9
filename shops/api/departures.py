"""Somebody leaves the company."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from shops.api import examples, refused
from shops.api.bodies import Body, read_body
from shops.api.etags import created_status
from shops.api.fields import Identifier, Instant, Text
from shops.api.operation import operation
from shops.api.scoping import require_person
from shops.api.view import RecordView
from shops.domain.access import REGISTRARS
from shops.domain.errors import BadInput, FieldProblem
from shops.queries.departures import departure_document
from shops.services.record_departure import record_departure


class NewDeparture(Body):
    id = Identifier()
    left_at = Instant(help_text="Not after now: keys end from this time on.")
    reason = Text(max_length=500)


class DepartureDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    technician = serializers.UUIDField()
    left_at = serializers.DateTimeField()
    reason = serializers.CharField()
    recorded_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    keys = serializers.ListField(child=serializers.CharField(), help_text="Thumbprints of the keys that ended with it.")
    tokens = serializers.IntegerField(help_text="How many access tokens ended with it.")


class DeparturesView(RecordView):
    @operation(
        summary="Record that a technician left: all keys and tokens of that person end",
        description="Keys end from `left_at` on, access tokens at once, and enrolment codes that were issued before "
        "enrol nothing. Claims of the phones hold no gate any more. What the phones may still hold: "
        "`GET /v1/device_chains`. Somebody who comes back is enrolled anew.",
        roles=REGISTRARS,
        request=NewDeparture,
        request_example={"id": examples.FACT_ID, "left_at": "2026-04-30T22:00:00Z", "reason": "Moved away"},
        answers={201: DepartureDocument, 200: DepartureDocument},
        example={
            "id": examples.FACT_ID,
            "technician": examples.TECHNICIAN["id"],
            "left_at": "2026-04-30T22:00:00Z",
            "reason": "Moved away",
            "recorded_at": "2026-05-01T13:00:00Z",
            "recorded_by": "lead: JD",
            "keys": [examples.DEVICE_KEY["thumbprint"]],
            "tokens": 1,
        },
        problems=refused.CREATE,
        tag="People",
    )
    def post(self, request: Request, technician: UUID) -> Response:
        asked = read_body(NewDeparture, request.data)
        require_person(self.grant, technician)
        if asked["left_at"] > self.now:
            detail, cure = "Nobody has left before it is so.", "Record it on the day, or revoke a key from a time on."
            raise BadInput(detail, problems=[FieldProblem("/left_at", detail, cure)])
        made = record_departure(
            company=self.grant.company,
            identifier=asked["id"],
            technician=technician,
            left_at=asked["left_at"],
            reason=asked["reason"],
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(departure_document(made.row), status=created_status(made.is_new))
