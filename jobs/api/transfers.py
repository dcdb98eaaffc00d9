"""A job goes to another shop, with its unit: offered by one side, accepted by the other."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import kit_examples as examples
from jobs.queries.job_views import job_head
from jobs.queries.transfers import TRANSFERS, find_transfer, list_offers, list_transfers
from jobs.services.answer_transfer import accept_transfer, decline_transfer
from jobs.services.offer_transfer import offer_transfer
from shops.api import refused
from shops.api.bodies import Body, read_body, read_query
from shops.api.etags import created_status
from shops.api.fields import Choice, Identifier, Text
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import DECIDERS, EVERYBODY
from shops.domain.errors import Conflict, NotFound

TAG = "Jobs"
_LONGEST = 500
STATES = ["open", "accepted", "declined"]


class NewTransfer(Body):
    id = Identifier()
    to_shop = Identifier()
    reason = Text(max_length=_LONGEST)


class NewAnswer(Body):
    id = Identifier()
    reason = Text(max_length=_LONGEST, help_text="In what state the unit was taken over, or why not.")


class TransferDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    job = serializers.UUIDField()
    from_shop = serializers.UUIDField()
    to_shop = serializers.UUIDField()
    reason = serializers.CharField()
    offered_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    state = serializers.ChoiceField(STATES)
    answer = serializers.UUIDField(allow_null=True)
    answer_reason = serializers.CharField(allow_null=True)
    answered_at = serializers.DateTimeField(allow_null=True)
    answered_by = serializers.CharField(allow_null=True)


PAGE = page_schema(TransferDocument)


class TransferQuery(PageQuery):
    state = Choice(STATES, required=False)


class TransfersView(RecordView):
    @operation(
        summary="List the transfers from and to one's shops, oldest first",
        roles=EVERYBODY,
        answers={200: PAGE},
        example={"items": [examples.TRANSFER], "next": None},
        problems=refused.LIST,
        parameters=[TransferQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(TransferQuery, request)
        rows = list_offers(self.grant, page_ask(query, TRANSFERS.order), query.get("state"))
        return Response(page_document(rows))


class JobTransfersView(RecordView):
    @operation(
        summary="List the transfers of a job, oldest first",
        roles=EVERYBODY,
        answers={200: PAGE},
        example={"items": [examples.ACCEPTED], "next": None},
        problems=refused.READ_AT,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request, job: UUID) -> Response:
        ask = page_ask(read_query(PageQuery, request), TRANSFERS.order)
        if job_head(self.grant, job) is None:
            raise NotFound("There is no such job.")
        return Response(page_document(list_transfers(job, ask)))

    @operation(
        summary="Offer a job to another shop",
        description="Until the other shop accepts, the job stays and its gate is closed.",
        roles=DECIDERS,
        request=NewTransfer,
        request_example=examples.TRANSFER_REQUEST,
        answers={201: TransferDocument, 200: TransferDocument},
        example=examples.TRANSFER,
        problems=[*refused.CREATE, Conflict],
        tag=TAG,
    )
    def post(self, request: Request, job: UUID) -> Response:
        body = read_body(NewTransfer, request.data)
        created = offer_transfer(
            grant=self.grant,
            identifier=body["id"],
            job=job,
            to_shop=body["to_shop"],
            reason=body["reason"],
            now=self.now,
        )
        return Response(find_transfer(created.row.id), status=created_status(created.is_new))


class TransferAcceptancesView(RecordView):
    @operation(
        summary="Accept a job that another shop offered: it is this shop's now",
        roles=DECIDERS,
        request=NewAnswer,
        request_example=examples.ANSWER_REQUEST,
        answers={201: TransferDocument, 200: TransferDocument},
        example=examples.ACCEPTED,
        problems=[*refused.CREATE, Conflict],
        tag=TAG,
    )
    def post(self, request: Request, transfer: UUID) -> Response:
        body = read_body(NewAnswer, request.data)
        created = accept_transfer(
            grant=self.grant, identifier=body["id"], transfer=transfer, reason=body["reason"], now=self.now
        )
        return Response(find_transfer(transfer), status=created_status(created.is_new))


class TransferDeclinesView(RecordView):
    @operation(
        summary="Decline a job that was offered, or take the offer back: it stays where it is",
        roles=DECIDERS,
        request=NewAnswer,
        request_example={**examples.ANSWER_REQUEST, "reason": "No lift free before Friday."},
        answers={201: TransferDocument, 200: TransferDocument},
        example={**examples.ACCEPTED, "state": "declined", "answer_reason": "No lift free before Friday."},
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, transfer: UUID) -> Response:
        body = read_body(NewAnswer, request.data)
        created = decline_transfer(
            grant=self.grant, identifier=body["id"], transfer=transfer, reason=body["reason"], now=self.now
        )
        return Response(find_transfer(transfer), status=created_status(created.is_new))
