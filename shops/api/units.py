"""Units: tractors and dollies, by carrier and number, and by VIN."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from shops.api import examples, refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status, expected_versions, versioned
from shops.api.operation import operation
from shops.api.pages import page_ask, page_document, page_schema
from shops.api.registry_schemas import NewUnit, UnitChange, UnitDocument, UnitQuery
from shops.api.scoping import require_carrier
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, REGISTRARS, Role
from shops.queries.units import UNITS, find_unit, list_units
from shops.services.change_unit import change_unit
from shops.services.register_unit import UnitRequest, register_unit

TAG = "Units"
UNIT_KEEPERS = REGISTRARS | {Role.DISPATCH}


class UnitsView(RecordView):
    @operation(
        summary="List units, by number",
        roles=EVERYBODY,
        answers={200: page_schema(UnitDocument)},
        example=examples.page(examples.UNIT),
        problems=refused.LIST,
        parameters=[UnitQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(UnitQuery, request)
        return Response(page_document(list_units(self.grant, page_ask(query, UNITS.order), query)))

    @operation(
        summary="Register a unit",
        description="A VIN of the wrong length or with I, O or Q is refused; a wrong check digit is stored, and the "
        "answer warns of it.",
        roles=UNIT_KEEPERS,
        request=NewUnit,
        request_example=examples.UNIT_REQUEST,
        answers={201: UnitDocument, 200: UnitDocument},
        example=examples.UNIT,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        asked = UnitRequest(**{"vin": None, **read_body(NewUnit, request.data)})
        require_carrier(self.grant, asked.carrier)
        created = register_unit(company=self.grant.company, request=asked)
        return versioned(find_unit(self.grant, asked.id), status=created_status(created.is_new))


class UnitView(RecordView):
    @operation(
        summary="Read a unit",
        roles=EVERYBODY,
        answers={200: UnitDocument},
        example=examples.UNIT,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, unit: UUID) -> Response:
        return versioned(find_unit(self.grant, unit))

    @operation(
        summary="Change a unit's carrier, number or VIN",
        roles=UNIT_KEEPERS,
        request=UnitChange,
        request_example={"number": "4107"},
        answers={200: UnitDocument},
        example={**examples.UNIT, "version": 2},
        problems=refused.CHANGE,
        parameters=[refused.IF_MATCH],
        tag=TAG,
    )
    def patch(self, request: Request, unit: UUID) -> Response:
        versions = expected_versions(request)
        changes = read_body(UnitChange, request.data, partial=True)
        find_unit(self.grant, unit)
        if "carrier" in changes:
            require_carrier(self.grant, changes["carrier"])
        change_unit(unit=unit, versions=versions, changes=changes)
        return versioned(find_unit(self.grant, unit))
