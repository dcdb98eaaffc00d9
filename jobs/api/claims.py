"""Claims: a phone takes a job offline, says that it has sent everything, or a lead decides not to wait for it."""

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api.job_examples import JOB_ID, THUMBPRINT
from jobs.queries.job_claims import CLAIMS, job_claims
from jobs.queries.job_views import job_head
from jobs.services.claim_job import claim_job, end_claim
from shops.api import refused
from shops.api.bodies import Body, read_body, read_query
from shops.api.fields import Whole
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import BENCH, EVERYBODY
from shops.domain.errors import AlreadyExists, BadInput, NotFound, NotPermitted, TooLarge, UnsupportedMedia

CLAIM_REQUEST: dict[str, Any] = {"id": "019caea0-0000-7000-8000-0000000000c1", "key": THUMBPRINT}
CLAIM: dict[str, Any] = {**CLAIM_REQUEST, "job": JOB_ID, "claimed_at": "2026-03-09T19:00:00Z"}
CLAIM_END_REQUEST: dict[str, Any] = {
    "id": "019caea1-0000-7000-8000-0000000000c2",
    "last_sequence": 57,
    "reason": "OK is in hospital; his phone is in the locker and held nothing of this job.",
}
CLAIM_END: dict[str, Any] = {
    **CLAIM_END_REQUEST,
    "claim": CLAIM_REQUEST["id"],
    "ended_at": "2026-03-10T21:05:00Z",
    "ended_by": "lead: JD",
}
CLAIM_READ: dict[str, Any] = {
    **CLAIM,
    "initials": "OK",
    "ended_at": CLAIM_END["ended_at"],
    "ended_by": "lead: JD",
    "last_sequence": 57,
    "reason": CLAIM_END["reason"],
}


class ClaimRequestSchema(Body):
    id = serializers.UUIDField()
    key = serializers.CharField(max_length=43, help_text="Thumbprint of the phone's key.")


class ClaimSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    job = serializers.UUIDField()
    key = serializers.CharField()
    claimed_at = serializers.DateTimeField()


class ClaimReadSchema(ClaimSchema):
    initials = serializers.CharField(help_text="Whose phone it is.")
    ended_at = serializers.DateTimeField(allow_null=True, help_text="Null while the gate waits for the phone.")
    ended_by = serializers.CharField(allow_null=True)
    last_sequence = Whole(allow_null=True)
    reason = serializers.CharField(allow_null=True, help_text="Why somebody else than the phone's owner ended it.")


class ClaimEndRequestSchema(Body):
    id = serializers.UUIDField()
    last_sequence = Whole(
        min_value=0, max_value=2**53, help_text="The phone's newest device_seq; 0 if nobody can look."
    )
    reason = serializers.CharField(
        max_length=1000, required=False, help_text="Asked for from everybody but the phone's owner."
    )


class ClaimEndSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    claim = serializers.UUIDField()
    last_sequence = serializers.IntegerField()
    ended_at = serializers.DateTimeField()
    ended_by = serializers.CharField()
    reason = serializers.CharField(allow_null=True)


class JobClaimsView(RecordView):
    @operation(
        summary="List the claims on a job, oldest first",
        description="Which phones took it offline, which of them are still awaited, and who decided not to wait.",
        roles=EVERYBODY,
        answers={200: page_schema(ClaimReadSchema)},
        example={"items": [CLAIM_READ], "next": None},
        problems=refused.READ_AT,
        parameters=[PageQuery],
        tag="Jobs",
    )
    def get(self, request: Request, job: UUID) -> Response:
        if job_head(self.grant, job) is None:
            raise NotFound("There is no such job.")
        ask = page_ask(read_query(PageQuery, request), CLAIMS.order)
        return Response(page_document(job_claims(job, ask)))

    @operation(
        summary="Claim a job for a device that goes offline",
        description="Until the claim ends, the job's gate waits for the device.",
        roles=BENCH,
        request=ClaimRequestSchema,
        request_example=CLAIM_REQUEST,
        answers={201: ClaimSchema, 200: ClaimSchema},
        example=CLAIM,
        problems=[BadInput, NotFound, NotPermitted, AlreadyExists, TooLarge, UnsupportedMedia],
        tag="Jobs",
    )
    def post(self, request: Request, job: UUID) -> Response:
        data = read_body(ClaimRequestSchema, request.data)
        claim, is_new = claim_job(grant=self.grant, claim=data["id"], job=job, key=data["key"], now=self.now)
        document = {"id": claim.id, "job": claim.job_id, "key": claim.key, "claimed_at": claim.claimed_at}
        return Response(document, status=201 if is_new else 200)


class ClaimEndsView(RecordView):
    @operation(
        summary="End a claim: the device has sent everything, or a lead does not wait for it",
        description="Whoever is not the phone's owner gives a reason, and it is shown with the claim. Numbers that are "
        "known to be missing go on holding the gate, until they come in or the key is revoked.",
        roles=BENCH,
        request=ClaimEndRequestSchema,
        request_example=CLAIM_END_REQUEST,
        answers={201: ClaimEndSchema, 200: ClaimEndSchema},
        example=CLAIM_END,
        problems=[BadInput, NotFound, NotPermitted, AlreadyExists, TooLarge, UnsupportedMedia],
        tag="Jobs",
    )
    def post(self, request: Request, claim: UUID) -> Response:
        data = read_body(ClaimEndRequestSchema, request.data)
        end, is_new = end_claim(
            grant=self.grant,
            end=data["id"],
            claim=claim,
            last_sequence=data["last_sequence"],
            reason=data.get("reason"),
            now=self.now,
        )
        document = {
            "id": end.id,
            "claim": end.claim_id,
            "last_sequence": end.last_sequence,
            "ended_at": end.ended_at,
            "ended_by": end.recorded_by,
            "reason": end.reason,
        }
        return Response(document, status=201 if is_new else 200)


claim_urls = [
    path("jobs/<uuid:job>/claims", JobClaimsView.as_view()),
    path("claims/<uuid:claim>/ends", ClaimEndsView.as_view()),
]
