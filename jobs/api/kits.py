"""Kits: received, moved, read."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import kit_examples as examples
from jobs.api import kit_schemas as schemas
from jobs.queries.kits import KITS, find_kit, find_movement, list_kits
from jobs.services.move_kit import MovementRequest, move_kit
from jobs.services.register_kit import KitRequest, register_kit
from shops.api import refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.pages import page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, Role
from shops.domain.errors import Conflict

TAG = "Kits"
KEEPERS = frozenset({Role.PARTS})


class KitsView(RecordView):
    @operation(
        summary="List kits, by serial",
        roles=EVERYBODY,
        answers={200: page_schema(schemas.KitDocument)},
        example={"items": [examples.KIT], "next": None},
        problems=refused.LIST,
        parameters=[schemas.KitQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(schemas.KitQuery, request)
        return Response(page_document(list_kits(self.grant, page_ask(query, KITS.order), query)))

    @operation(
        summary="Receive a kit",
        description="One that a published recall takes is quarantined at once.",
        roles=KEEPERS,
        request=schemas.NewKit,
        request_example=examples.KIT_REQUEST,
        answers={201: schemas.KitWithMovementsDocument, 200: schemas.KitWithMovementsDocument},
        example=examples.KIT_WITH_MOVEMENTS,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = KitRequest(**read_body(schemas.NewKit, request.data))
        created = register_kit(grant=self.grant, request=asked, now=self.now)
        return Response(find_kit(self.grant, asked.id), status=created_status(created.is_new))


class KitView(RecordView):
    @operation(
        summary="Read a kit and where it went",
        roles=EVERYBODY,
        answers={200: schemas.KitWithMovementsDocument},
        example=examples.KIT_WITH_MOVEMENTS,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, kit: UUID) -> Response:
        return Response(find_kit(self.grant, kit))


class KitMovementsView(RecordView):
    @operation(
        summary="Record where a kit went",
        description="A technician who logs the step that issues the kit moves it by that; parts record the rest. "
        "A scrapped kit goes nowhere, a recalled one is quarantined or scrapped.",
        roles=KEEPERS,
        request=schemas.NewMovement,
        request_example=examples.MOVEMENT_REQUEST,
        answers={201: schemas.MovementDocument, 200: schemas.MovementDocument},
        example=examples.MOVEMENT,
        problems=[*refused.CREATE, Conflict],
        tag=TAG,
    )
    def post(self, request: Request, kit: UUID) -> Response:
        asked = MovementRequest(kit=kit, **read_body(schemas.NewMovement, request.data))
        created = move_kit(grant=self.grant, request=asked, now=self.now)
        return Response(find_movement(self.grant, asked.id), status=created_status(created.is_new))
