"""Holds on units from outside their jobs: placed by an order, cleared by whom the hold names."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import dispatch_examples as examples
from jobs.api import dispatch_schemas as schemas
from jobs.queries.unit_holds import HOLDS, find_hold, list_holds
from jobs.services.clear_unit_hold import clear_unit_hold
from jobs.services.hold_unit import hold_unit
from shops.api import refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import DECIDERS, EVERYBODY, Role
from shops.queries.units import find_unit

TAG = "Holds"


class UnitHoldsView(RecordView):
    @operation(
        summary="List a unit's holds, cleared ones too, oldest first",
        roles=EVERYBODY,
        answers={200: page_schema(schemas.HoldDocument)},
        example={"items": [examples.HOLD], "next": None},
        problems=refused.READ_AT,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request, unit: UUID) -> Response:
        ask = page_ask(read_query(PageQuery, request), HOLDS.order)
        find_unit(self.grant, unit)
        return Response(page_document(list_holds(self.grant, ask, unit)))

    @operation(
        summary="Hold a unit: it does not go until the hold is cleared",
        description="A legal hold, and what quality orders, only quality clears; what a lead orders, a lead or quality "
        "clears, unless the order asks for quality. With a legal hold, what was done on the unit before the incident "
        "and comes in after it is marked, and what is done to the unit until quality clears the hold earns nothing.",
        roles=DECIDERS,
        request=schemas.NewHold,
        request_example=examples.HOLD_REQUEST,
        answers={201: schemas.HoldDocument, 200: schemas.HoldDocument},
        example=examples.HOLD,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, unit: UUID) -> Response:
        asked = read_body(schemas.NewHold, request.data)
        role = asked.get("may_clear")
        created = hold_unit(
            grant=self.grant,
            identifier=asked["id"],
            unit=unit,
            kind=asked["kind"],
            reason=asked["reason"],
            may_clear=Role(role) if role else None,
            incident_at=asked.get("incident_at"),
            now=self.now,
        )
        return Response(find_hold(self.grant, asked["id"]), status=created_status(created.is_new))


class UnitHoldView(RecordView):
    @operation(
        summary="Read a hold",
        roles=EVERYBODY,
        answers={200: schemas.HoldDocument},
        example=examples.HOLD,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, hold: UUID) -> Response:
        return Response(find_hold(self.grant, hold))


class UnitHoldClearingsView(RecordView):
    @operation(
        summary="Clear a hold, with a reason",
        roles=DECIDERS,
        request=schemas.NewReason,
        request_example=examples.CLEARING_REQUEST,
        answers={201: schemas.HoldDocument, 200: schemas.HoldDocument},
        example=examples.CLEARED,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, hold: UUID) -> Response:
        asked = read_body(schemas.NewReason, request.data)
        created = clear_unit_hold(
            grant=self.grant, identifier=asked["id"], hold=hold, reason=asked["reason"], now=self.now
        )
        return Response(find_hold(self.grant, hold), status=created_status(created.is_new))
