"""What happens to an instrument: calibrations, withdrawals and returns. None of it is ever edited."""

from typing import Any
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api import instrument_examples as examples
from inspections.api.instrument_schemas import (
    CalibrationDocument,
    InstrumentWithdrawalDocument,
    NewCalibration,
    NewInstrumentWithdrawal,
    NewReturn,
)
from inspections.api.instruments import KEEPERS, TAG
from inspections.domain.instruments import CalibrationResult
from inspections.domain.register import PointText
from inspections.queries import instruments
from inspections.services.record_calibration import CalibrationRequest, record_calibration
from inspections.services.return_instrument import return_instrument
from inspections.services.withdraw_instrument import withdraw_instrument
from shops.api import refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.examples import page
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.times import refuse_future
from shops.api.view import RecordView
from shops.domain.access import BENCH, EVERYBODY

WITHDRAWERS = KEEPERS | BENCH


class CalibrationsView(RecordView):
    @operation(
        summary="List an instrument's calibrations, oldest first",
        roles=EVERYBODY,
        answers={200: page_schema(CalibrationDocument)},
        example=page(examples.CALIBRATION),
        problems=refused.READ_AT,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request, instrument: UUID) -> Response:
        ask = page_ask(read_query(PageQuery, request), instruments.CALIBRATIONS.order)
        instruments.find_instrument(self.grant, instrument, self.now)
        return Response(page_document(instruments.list_calibrations(self.grant, ask, instrument)))

    @operation(
        summary="Record a calibration",
        description="Points are texts in the instrument's unit: what was true, and what the instrument said.",
        roles=KEEPERS,
        request=NewCalibration,
        request_example=examples.CALIBRATION_REQUEST,
        answers={201: CalibrationDocument, 200: CalibrationDocument},
        example=examples.CALIBRATION,
        problems=refused.STATE,
        tag=TAG,
    )
    def post(self, request: Request, instrument: UUID) -> Response:
        asked = _calibration_request(read_body(NewCalibration, request.data))
        registered = instruments.find_instrument(self.grant, instrument, self.now)
        created = record_calibration(
            company=self.grant.company,
            instrument=instrument,
            unit=registered["unit"],
            request=asked,
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(instruments.find_calibration(self.grant, asked.id), status=created_status(created.is_new))


class InstrumentWithdrawalsView(RecordView):
    @operation(
        summary="List an instrument's withdrawals, each with its return, oldest first",
        roles=EVERYBODY,
        answers={200: page_schema(InstrumentWithdrawalDocument)},
        example=page(examples.WITHDRAWAL),
        problems=refused.READ_AT,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request, instrument: UUID) -> Response:
        ask = page_ask(read_query(PageQuery, request), instruments.WITHDRAWALS.order)
        instruments.find_instrument(self.grant, instrument, self.now)
        return Response(page_document(instruments.list_withdrawals(self.grant, ask, instrument)))

    @operation(
        summary="Take an instrument out of use",
        description="Whoever works with it may: dropped, damaged or doubted, it is suspect from then on.",
        roles=WITHDRAWERS,
        request=NewInstrumentWithdrawal,
        request_example=examples.WITHDRAWAL_REQUEST,
        answers={201: InstrumentWithdrawalDocument, 200: InstrumentWithdrawalDocument},
        example=examples.WITHDRAWAL,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, instrument: UUID) -> Response:
        asked = read_body(NewInstrumentWithdrawal, request.data)
        refuse_future(asked["withdrawn_at"], self.now, "/withdrawn_at")
        instruments.find_instrument(self.grant, instrument, self.now)
        created = withdraw_instrument(
            company=self.grant.company,
            identifier=asked["id"],
            instrument=instrument,
            withdrawn_at=asked["withdrawn_at"],
            reason=asked["reason"],
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(instruments.find_withdrawal(self.grant, asked["id"]), status=created_status(created.is_new))


class InstrumentReturnsView(RecordView):
    @operation(
        summary="Put a withdrawn instrument back into use",
        roles=KEEPERS,
        request=NewReturn,
        request_example=examples.RETURN_REQUEST,
        answers={201: InstrumentWithdrawalDocument, 200: InstrumentWithdrawalDocument},
        example={
            **examples.WITHDRAWAL,
            "returned_at": "2026-04-20T13:00:00Z",
            "return_reason": "New blades, calibrated",
        },
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, withdrawal: UUID) -> Response:
        asked = read_body(NewReturn, request.data)
        refuse_future(asked["returned_at"], self.now, "/returned_at")
        instruments.find_withdrawal(self.grant, withdrawal)
        created = return_instrument(
            company=self.grant.company,
            identifier=asked["id"],
            withdrawal=withdrawal,
            returned_at=asked["returned_at"],
            reason=asked["reason"],
            recorded_by=self.grant.by,
            now=self.now,
        )
        return Response(instruments.find_withdrawal(self.grant, withdrawal), status=created_status(created.is_new))


def _calibration_request(body: dict[str, Any]) -> CalibrationRequest:
    points = {name: [PointText(**point) for point in body.get(name, ())] for name in ("as_found", "as_left")}
    return CalibrationRequest(**{**body, **points, "result": CalibrationResult(body["result"])})
