"""The register of instruments, and what could be said of one at a moment."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api import instrument_examples as examples
from inspections.api.instrument_schemas import (
    AtQuery,
    InstrumentChange,
    InstrumentDocument,
    InstrumentQuery,
    NewInstrument,
)
from inspections.domain.instruments import InstrumentKind
from inspections.models.instrument import Instrument
from inspections.queries.instruments import INSTRUMENTS, find_instrument, list_instruments
from inspections.services.register_instrument import InstrumentRequest, register_instrument
from shops.api import refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status, expected_versions, versioned
from shops.api.examples import page
from shops.api.operation import operation
from shops.api.pages import page_ask, page_document, page_schema
from shops.api.scoping import require_shop
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, Role
from shops.services.change_row import change_row

TAG = "Instruments"
KEEPERS = frozenset({Role.INSTRUMENTS, Role.QUALITY, Role.LEAD, Role.ADMINISTRATOR})


class InstrumentsView(RecordView):
    @operation(
        summary="List instruments, by code, each with its state now",
        roles=EVERYBODY,
        answers={200: page_schema(InstrumentDocument)},
        example=page(examples.INSTRUMENT),
        problems=refused.LIST,
        parameters=[InstrumentQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(InstrumentQuery, request)
        ask = page_ask(query, INSTRUMENTS.order)
        return Response(page_document(list_instruments(self.grant, ask, query, self.now)))

    @operation(
        summary="Register an instrument",
        description="Range, resolution and expanded uncertainty (k = 2) are texts in the instrument's unit, read "
        "exactly. It is not trusted before its first calibration is recorded.",
        roles=KEEPERS,
        request=NewInstrument,
        request_example=examples.INSTRUMENT_REQUEST,
        answers={201: InstrumentDocument, 200: InstrumentDocument},
        example=examples.INSTRUMENT,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        body = read_body(NewInstrument, request.data)
        asked = InstrumentRequest(**{**body, "kind": InstrumentKind(body["kind"])})
        require_shop(self.grant, asked.shop)
        created = register_instrument(company=self.grant.company, request=asked)
        document = find_instrument(self.grant, asked.id, self.now)
        return versioned(document, status=created_status(created.is_new))


class InstrumentView(RecordView):
    @operation(
        summary="Read an instrument, its state now or at a moment",
        description="The state is what could be said at that moment; a calibration done later changes none of it.",
        roles=EVERYBODY,
        answers={200: InstrumentDocument},
        example=examples.INSTRUMENT,
        problems=refused.READ_AT,
        parameters=[AtQuery],
        tag=TAG,
    )
    def get(self, request: Request, instrument: UUID) -> Response:
        at = read_query(AtQuery, request).get("at", self.now)
        return versioned(find_instrument(self.grant, instrument, at))

    @operation(
        summary="Move an instrument to another shop",
        roles=KEEPERS,
        request=InstrumentChange,
        request_example={"shop": examples.SHOP_B},
        answers={200: InstrumentDocument},
        example={**examples.INSTRUMENT, "version": 2},
        problems=refused.CHANGE,
        parameters=[refused.IF_MATCH],
        tag=TAG,
    )
    def patch(self, request: Request, instrument: UUID) -> Response:
        versions = expected_versions(request)
        changes = read_body(InstrumentChange, request.data, partial=True)
        find_instrument(self.grant, instrument, self.now)
        if "shop" in changes:
            require_shop(self.grant, changes["shop"])
        columns = {f"{name}_id": value for name, value in changes.items()}
        change_row(Instrument, instrument, versions=versions, changes=columns)
        return versioned(find_instrument(self.grant, instrument, self.now))
