"""Dispatch's face: which units may go now, when the others come, and that it has taken note."""

from collections.abc import Mapping
from hashlib import sha256
from typing import Any
from uuid import UUID

import orjson
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import dispatch_examples as examples
from jobs.api import dispatch_schemas as schemas
from jobs.models.release import Acknowledgement
from jobs.queries.availability import availability_documents
from jobs.services.acknowledge_availability import acknowledge_availability
from shops.api import refused
from shops.api.bodies import read_body
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, Role
from shops.domain.errors import AvailabilityMoved, BadInput, NotFound, TooLarge, UnsupportedMedia

TAG = "Dispatch"
DISPATCHERS = frozenset({Role.DISPATCH})
IF_NONE_MATCH = OpenApiParameter(
    "If-None-Match",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    description="The ETag that was read: 304 while the answer is the same.",
)
_NOT_MODIFIED = 304


class UnitAvailabilityView(RecordView):
    @operation(
        summary="May this unit go now?",
        description="Computed from the record as it stands, never stored. What stands against the unit is named all at "
        "once. A release says nothing of a trailer's kingpin; distance since the release is dispatch's to watch.",
        roles=EVERYBODY,
        answers={200: schemas.AvailabilityDocument, 304: None},
        example=examples.LIMITED,
        problems=refused.READ,
        parameters=[IF_NONE_MATCH],
        tag=TAG,
    )
    def get(self, request: Request, unit: UUID) -> Response:
        document = availability_documents(self.grant, [unit], self.now)[0]
        if document["state"] == "not_found":
            raise NotFound("There is no such unit.")
        tag = availability_etag(document)
        asked = [part.strip() for part in request.META.get("HTTP_IF_NONE_MATCH", "").split(",")]
        if tag in asked or "*" in asked:
            return Response(status=_NOT_MODIFIED, headers={"ETag": tag})
        return Response(document, headers={"ETag": tag})


def availability_etag(document: Mapping[str, Any]) -> str:
    """The version, and a digest of what it stands for. Weak (RFC 9110, 8.8.1): an estimate may move without it."""
    lasting = {name: value for name, value in document.items() if name != "ready_estimate"}
    digest = sha256(orjson.dumps(lasting)).hexdigest()[:12]
    return f'W/"v{document["availability_version"]}-{digest}"'


class AvailabilityQueriesView(RecordView):
    @operation(
        summary="Which of up to 1,000 units may go now, and when come the others?",
        description="An answer for each id, in their order. A unit that is unknown, another company's or out of the "
        "token's reach is answered in its place with the state `not_found`.",
        roles=EVERYBODY,
        request=schemas.AvailabilityQuestion,
        request_example=examples.QUESTION,
        answers={200: schemas.AvailabilityListDocument},
        example=examples.ANSWERS,
        problems=[BadInput, TooLarge, UnsupportedMedia],
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        units = read_body(schemas.AvailabilityQuestion, request.data)["units"]
        return Response({"items": availability_documents(self.grant, units, self.now)})


class UnitAcknowledgementsView(RecordView):
    @operation(
        summary="Take note of a unit's availability",
        description="Names the version that was read. If it is another by now, that is a conflict which says the "
        "current one: read again before the unit goes.",
        roles=DISPATCHERS,
        request=schemas.NewAcknowledgement,
        request_example=examples.ACKNOWLEDGEMENT_REQUEST,
        answers={201: schemas.AcknowledgementDocument, 200: schemas.AcknowledgementDocument},
        example=examples.ACKNOWLEDGEMENT,
        problems=[*refused.CREATE, AvailabilityMoved],
        tag=TAG,
    )
    def post(self, request: Request, unit: UUID) -> Response:
        asked = read_body(schemas.NewAcknowledgement, request.data)
        created = acknowledge_availability(
            grant=self.grant, identifier=asked["id"], unit=unit, version=asked["availability_version"], now=self.now
        )
        return Response(_acknowledgement(created.row), status=created_status(created.is_new))


def _acknowledgement(row: Acknowledgement) -> dict[str, Any]:
    return {
        "id": row.id,
        "unit": row.unit_id,
        "availability_version": row.availability_version,
        "acknowledged_at": row.acknowledged_at,
        "recorded_by": row.recorded_by,
    }
