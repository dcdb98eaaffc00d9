"""Couplings, and the top plates in them: a casting is in one coupling at most."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from shops.api import examples, refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status, expected_versions, versioned
from shops.api.operation import operation
from shops.api.pages import page_ask, page_document, page_schema
from shops.api.registry_schemas import (
    CouplingChange,
    CouplingDocument,
    CouplingQuery,
    NewCoupling,
    NewTopPlate,
    TopPlateDocument,
    TopPlateQuery,
)
from shops.api.scoping import require_all_carriers
from shops.api.view import RecordView
from shops.domain.access import BENCH, EVERYBODY, REGISTRARS, Grant
from shops.domain.errors import NotFound, not_found_at
from shops.models.unit import Coupling
from shops.queries import units
from shops.services.change_row import change_row
from shops.services.register_coupling import TAKEN, CouplingRequest, register_coupling
from shops.services.register_top_plate import register_top_plate

TAG = "Couplings"
COUPLING_KEEPERS = BENCH | REGISTRARS


class TopPlatesView(RecordView):
    @operation(
        summary="List top plates, by casting serial",
        roles=EVERYBODY,
        answers={200: page_schema(TopPlateDocument)},
        example=examples.page(examples.TOP_PLATE),
        problems=refused.LIST,
        parameters=[TopPlateQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(TopPlateQuery, request)
        ask = page_ask(query, units.TOP_PLATES.order)
        return Response(page_document(units.list_top_plates(self.grant, ask, query.get("casting_serial"))))

    @operation(
        summary="Register a top plate by its casting serial",
        roles=COUPLING_KEEPERS,
        request=NewTopPlate,
        request_example={"id": examples.TOP_PLATE_ID, "casting_serial": "CS-41070"},
        answers={201: TopPlateDocument, 200: TopPlateDocument},
        example={**examples.TOP_PLATE, "coupling": None},
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = read_body(NewTopPlate, request.data)
        require_all_carriers(self.grant)
        created = register_top_plate(
            company=self.grant.company, identifier=asked["id"], casting_serial=asked["casting_serial"]
        )
        return versioned(units.find_top_plate(self.grant, asked["id"]), status=created_status(created.is_new))


class TopPlateView(RecordView):
    @operation(
        summary="Read a top plate",
        roles=EVERYBODY,
        answers={200: TopPlateDocument},
        example=examples.TOP_PLATE,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, top_plate: UUID) -> Response:
        return versioned(units.find_top_plate(self.grant, top_plate))


class CouplingsView(RecordView):
    @operation(
        summary="List couplings, by model",
        roles=EVERYBODY,
        answers={200: page_schema(CouplingDocument)},
        example=examples.page(examples.COUPLING),
        problems=refused.LIST,
        parameters=[CouplingQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(CouplingQuery, request)
        ask = page_ask(query, units.COUPLINGS.order)
        rows = units.list_couplings(self.grant, ask, query.get("unit"), query.get("top_plate"))
        return Response(page_document(rows))

    @operation(
        summary="Register a coupling",
        roles=COUPLING_KEEPERS,
        request=NewCoupling,
        request_example={name: examples.COUPLING[name] for name in examples.COUPLING if name != "version"},
        answers={201: CouplingDocument, 200: CouplingDocument},
        example=examples.COUPLING,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        body = read_body(NewCoupling, request.data)
        _require_reached(self.grant, {"unit": None, **body})
        asked = CouplingRequest(**body)
        created = register_coupling(company=self.grant.company, request=asked)
        return versioned(units.find_coupling(self.grant, asked.id), status=created_status(created.is_new))


class CouplingView(RecordView):
    @operation(
        summary="Read a coupling",
        roles=EVERYBODY,
        answers={200: CouplingDocument},
        example=examples.COUPLING,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, coupling: UUID) -> Response:
        return versioned(units.find_coupling(self.grant, coupling))

    @operation(
        summary="Move a coupling to a unit, or change its top plate",
        roles=COUPLING_KEEPERS,
        request=CouplingChange,
        request_example={"top_plate": None},
        answers={200: CouplingDocument},
        example={**examples.COUPLING, "top_plate": None, "version": 2},
        problems=refused.CHANGE,
        parameters=[refused.IF_MATCH],
        tag=TAG,
    )
    def patch(self, request: Request, coupling: UUID) -> Response:
        versions = expected_versions(request)
        changes = read_body(CouplingChange, request.data, partial=True)
        units.find_coupling(self.grant, coupling)
        _require_reached(self.grant, changes)
        columns = {f"{name}_id": value for name, value in changes.items()}
        change_row(Coupling, coupling, versions=versions, changes=columns, taken=TAKEN)
        return versioned(units.find_coupling(self.grant, coupling))


def _require_reached(grant: Grant, changes: Mapping[str, Any]) -> None:
    """Raises NotFound for a unit or top plate out of scope, NotPermitted for none if the token has some only."""
    if "unit" in changes and changes["unit"] is None:
        require_all_carriers(grant)
    for name, find in (("unit", units.find_unit), ("top_plate", units.find_top_plate)):
        if changes.get(name) is not None:
            try:
                find(grant, changes[name])
            except NotFound:
                raise not_found_at(f"/{name}") from None
