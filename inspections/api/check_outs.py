"""Who has an instrument: taken, and brought back."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api import instrument_examples as examples
from inspections.api.instrument_schemas import CheckOutDocument, NewCheckIn, NewCheckOut
from inspections.api.instruments import TAG
from inspections.queries import instruments
from inspections.services.check_in_instrument import check_in_instrument
from inspections.services.check_out_instrument import CheckOutRequest, check_out_instrument
from shops.api import refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.examples import page
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.scoping import require_known_person
from shops.api.times import refuse_future
from shops.api.view import RecordView
from shops.domain.access import BENCH, EVERYBODY, Role
from shops.domain.errors import Conflict

TAKERS = BENCH | {Role.INSTRUMENTS}


class CheckOutsView(RecordView):
    @operation(
        summary="List who took an instrument, oldest first",
        roles=EVERYBODY,
        answers={200: page_schema(CheckOutDocument)},
        example=page(examples.CHECK_OUT),
        problems=refused.READ_AT,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request, instrument: UUID) -> Response:
        ask = page_ask(read_query(PageQuery, request), instruments.CHECK_OUTS.order)
        instruments.find_instrument(self.grant, instrument, self.now)
        return Response(page_document(instruments.list_check_outs(self.grant, ask, instrument)))

    @operation(
        summary="Check an instrument out",
        description="One person has it at a time; while somebody has it, the answer says who.",
        roles=TAKERS,
        request=NewCheckOut,
        request_example=examples.CHECK_OUT_REQUEST,
        answers={201: CheckOutDocument, 200: CheckOutDocument},
        example=examples.CHECK_OUT,
        problems=[*refused.CREATE, Conflict],
        tag=TAG,
    )
    def post(self, request: Request, instrument: UUID) -> Response:
        asked = CheckOutRequest(**{"job": None, **read_body(NewCheckOut, request.data)})
        refuse_future(asked.taken_at, self.now, "/taken_at")
        instruments.find_instrument(self.grant, instrument, self.now)
        require_known_person(self.grant, asked.technician, "/technician")
        created = check_out_instrument(
            company=self.grant.company, instrument=instrument, request=asked, recorded_by=self.grant.by
        )
        return Response(instruments.find_check_out(self.grant, asked.id), status=created_status(created.is_new))


class CheckInsView(RecordView):
    @operation(
        summary="Check an instrument in",
        roles=TAKERS,
        request=NewCheckIn,
        request_example=examples.CHECK_IN_REQUEST,
        answers={201: CheckOutDocument, 200: CheckOutDocument},
        example={
            **examples.CHECK_OUT,
            "brought_at": "2026-03-09T20:00:00Z",
            "condition": "Clean, all blades there",
        },
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, check_out: UUID) -> Response:
        asked = read_body(NewCheckIn, request.data)
        refuse_future(asked["brought_at"], self.now, "/brought_at")
        instruments.find_check_out(self.grant, check_out)
        created = check_in_instrument(
            company=self.grant.company,
            identifier=asked["id"],
            check_out=check_out,
            brought_at=asked["brought_at"],
            condition=asked["condition"],
            recorded_by=self.grant.by,
        )
        return Response(instruments.find_check_out(self.grant, check_out), status=created_status(created.is_new))
