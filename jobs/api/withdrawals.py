"""A job that was opened by mistake is withdrawn before anything was done on it."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api.job_examples import JOB_ID
from jobs.queries.job_views import job_head
from jobs.queries.job_withdrawals import WITHDRAWALS, find_withdrawal, list_withdrawals
from jobs.services.withdraw_job import withdraw_job
from shops.api import refused
from shops.api.bodies import Body, read_body, read_query
from shops.api.etags import created_status
from shops.api.fields import Identifier, Text
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import DECIDERS, EVERYBODY, Role
from shops.domain.errors import Conflict, NotFound

TAG = "Jobs"
WITHDRAWERS = DECIDERS | {Role.DISPATCH}
REQUEST: dict[str, Any] = {
    "id": "019cadd5-2000-7000-8000-000000004107",
    "reason": "Opened on 4107 by a slip: the casting is that of 4170.",
}
WITHDRAWAL: dict[str, Any] = {
    **REQUEST,
    "job": JOB_ID,
    "withdrawn_at": "2026-03-02T13:14:00Z",
    "recorded_by": "dispatch: DQ",
}


class NewJobWithdrawal(Body):
    id = Identifier()
    reason = Text(max_length=500, help_text="How it came to be opened.")


class JobWithdrawalDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    job = serializers.UUIDField()
    reason = serializers.CharField()
    withdrawn_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()


class JobWithdrawalsView(RecordView):
    @operation(
        summary="Read why a job was withdrawn: a list of one, or of none",
        description="It stays when an entry opened the job again afterwards.",
        roles=EVERYBODY,
        answers={200: page_schema(JobWithdrawalDocument)},
        example={"items": [WITHDRAWAL], "next": None},
        problems=refused.READ_AT,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request, job: UUID) -> Response:
        ask = page_ask(read_query(PageQuery, request), WITHDRAWALS.order)
        if job_head(self.grant, job) is None:
            raise NotFound("There is no such job.")
        return Response(page_document(list_withdrawals(job, ask)))

    @operation(
        summary="Withdraw a job that was opened by mistake, before anything was done on it",
        description="The job is abandoned, and its unit is what it was before it was opened. A job that has an entry, "
        "is over, is claimed by a phone that is offline, or has a kit that parts issued to it, is refused. An entry "
        "that comes in all the same opens the job again.",
        roles=WITHDRAWERS,
        request=NewJobWithdrawal,
        request_example=REQUEST,
        answers={201: JobWithdrawalDocument, 200: JobWithdrawalDocument},
        example=WITHDRAWAL,
        problems=[*refused.CREATE, Conflict],
        tag=TAG,
    )
    def post(self, request: Request, job: UUID) -> Response:
        body = read_body(NewJobWithdrawal, request.data)
        created = withdraw_job(grant=self.grant, identifier=body["id"], job=job, reason=body["reason"], now=self.now)
        return Response(find_withdrawal(created.row.id), status=created_status(created.is_new))
