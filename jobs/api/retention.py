"""Retention: the rules, what keeps a job's files, legal holds, and the deletion of evidence files by two people."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import retention_schemas as schemas
from jobs.api.dispatch_schemas import NewReason
from jobs.api.evidence_files import READERS
from jobs.queries.retention_views import (
    DELETIONS,
    LEGAL_HOLDS,
    find_deletion,
    find_legal_hold,
    job_retention_document,
    list_deletions,
    list_legal_holds,
)
from jobs.services.approve_evidence_deletion import approve_evidence_deletion, decline_evidence_deletion
from jobs.services.lift_legal_hold import lift_legal_hold
from jobs.services.place_legal_hold import place_legal_hold
from jobs.services.propose_evidence_deletion import propose_evidence_deletion
from jobs.services.read_job import reachable_job
from shops.api import refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.scoping import require_all_carriers, require_all_shops
from shops.api.view import RecordView
from shops.domain.access import AUDITORS, EVERYBODY, Grant, Role
from shops.domain.errors import MayNotGo
from shops.queries.units import find_unit

TAG = "Retention"
HOLDERS = AUDITORS
DELETERS = frozenset({Role.QUALITY, Role.ADMINISTRATOR})
LOOKERS = AUDITORS | {Role.LEAD}


def _whole_company(grant: Grant) -> None:
    """A file may be named by jobs of any shop, and a deletion looks at all of them."""
    require_all_shops(grant)
    require_all_carriers(grant)


class RetentionRulesView(RecordView):
    @operation(
        summary="Read what has to be kept, how long, and by which rule",
        description="Entries and all other rows stay for ever. An evidence file may go once every rule that runs for "
        "it has run out; the longest wins. Each rule says where it was read.",
        roles=EVERYBODY,
        answers={200: schemas.RuleListDocument},
        example=schemas.RULE_LIST,
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        return Response(schemas.RULE_LIST)


class JobRetentionView(RecordView):
    @operation(
        summary="Read what of a job may go when, and what stands against it",
        description="`left_control_on` is the day on which the unit left the carrier's control, which the record does "
        "not know. Days are those of the job's shop.",
        roles=READERS,
        answers={200: schemas.JobRetentionDocument},
        example=schemas.RETENTION,
        problems=refused.READ_AT,
        parameters=[schemas.RetentionQuery],
        tag=TAG,
    )
    def get(self, request: Request, job: UUID) -> Response:
        left = read_query(schemas.RetentionQuery, request).get("left_control_on")
        reachable_job(grant=self.grant, job=job)
        return Response(job_retention_document(self.grant, job, left, self.now))


class LegalHoldsView(RecordView):
    @operation(
        summary="List legal holds on records, lifted ones too, oldest first",
        roles=LOOKERS,
        answers={200: page_schema(schemas.LegalHoldDocument)},
        example={"items": [schemas.HOLD], "next": None},
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        ask = page_ask(read_query(PageQuery, request), LEGAL_HOLDS.order)
        return Response(page_document(list_legal_holds(self.grant, ask)))

    @operation(
        summary="Place a legal hold on the records of a job, of a unit, or of the company",
        description="Until a second person lifts it nothing of it is let go. It does not stop the unit: a legal hold "
        "on the unit itself (`POST /v1/units/{unit}/holds`) does that, and keeps its records as well.",
        roles=HOLDERS,
        request=schemas.NewLegalHold,
        request_example=schemas.HOLD_REQUEST,
        answers={201: schemas.LegalHoldDocument, 200: schemas.LegalHoldDocument},
        example=schemas.HOLD,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        body = read_body(schemas.NewLegalHold, request.data)
        job, unit = body.get("job"), body.get("unit")
        if job is not None:
            reachable_job(grant=self.grant, job=job)
        elif unit is not None:
            find_unit(self.grant, unit)
        else:
            _whole_company(self.grant)
        created = place_legal_hold(
            grant=self.grant, identifier=body["id"], job=job, unit=unit, reason=body["reason"], now=self.now
        )
        return Response(find_legal_hold(self.grant, body["id"]), status=created_status(created.is_new))


class LegalHoldView(RecordView):
    @operation(
        summary="Read a legal hold on records",
        roles=LOOKERS,
        answers={200: schemas.LegalHoldDocument},
        example=schemas.LIFTED,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, hold: UUID) -> Response:
        return Response(find_legal_hold(self.grant, hold))


class LegalHoldLiftingsView(RecordView):
    @operation(
        summary="Lift a legal hold, as a second person",
        roles=HOLDERS,
        request=NewReason,
        request_example=schemas.LIFTING_REQUEST,
        answers={201: schemas.LegalHoldDocument, 200: schemas.LegalHoldDocument},
        example=schemas.LIFTED,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, hold: UUID) -> Response:
        body = read_body(NewReason, request.data)
        _whole_company(self.grant)
        created = lift_legal_hold(
            grant=self.grant, identifier=body["id"], hold=hold, reason=body["reason"], now=self.now
        )
        return Response(find_legal_hold(self.grant, hold), status=created_status(created.is_new))


class EvidenceDeletionsView(RecordView):
    @operation(
        summary="List deletions of evidence files, oldest first",
        roles=LOOKERS,
        answers={200: page_schema(schemas.DeletionDocument)},
        example={"items": [schemas.DELETION], "next": None},
        problems=refused.LIST,
        parameters=[PageQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        ask = page_ask(read_query(PageQuery, request), DELETIONS.order)
        return Response(page_document(list_deletions(self.grant, ask)))

    @operation(
        summary="Propose to let evidence files of a job go",
        description="Nothing happens until a second person approves it. Refused with everything that stands against "
        "it: a rule that still runs, a legal hold, an open job, a suspended release, on any job that names the file.",
        roles=DELETERS,
        request=schemas.NewDeletion,
        request_example=schemas.DELETION_REQUEST,
        answers={201: schemas.DeletionDocument, 200: schemas.DeletionDocument},
        example=schemas.DELETION,
        problems=[*refused.CREATE, MayNotGo],
        tag=TAG,
    )
    def post(self, request: Request) -> Response:
        body = read_body(schemas.NewDeletion, request.data)
        _whole_company(self.grant)
        created = propose_evidence_deletion(
            grant=self.grant,
            identifier=body["id"],
            job=body["job"],
            digests=body["digests"],
            reason=body["reason"],
            left_control=body.get("left_control_on"),
            now=self.now,
        )
        return Response(find_deletion(self.grant, body["id"]), status=created_status(created.is_new))


class EvidenceDeletionView(RecordView):
    @operation(
        summary="Read a deletion of evidence files",
        roles=LOOKERS,
        answers={200: schemas.DeletionDocument},
        example=schemas.APPROVED,
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, deletion: UUID) -> Response:
        return Response(find_deletion(self.grant, deletion))


class EvidenceDeletionApprovalsView(RecordView):
    @operation(
        summary="Approve a deletion, as a second person: the files are taken out of the store",
        description="By another person than who proposed it, whatever tokens either has. What stood against it is "
        "looked at again. Afterwards the files answer 410 and say who, when and why; the worker removes them.",
        roles=DELETERS,
        request=schemas.NewApproval,
        request_example=schemas.APPROVAL_REQUEST,
        answers={201: schemas.DeletionDocument, 200: schemas.DeletionDocument},
        example=schemas.APPROVED,
        problems=[*refused.CREATE, MayNotGo],
        tag=TAG,
    )
    def post(self, request: Request, deletion: UUID) -> Response:
        body = read_body(schemas.NewApproval, request.data)
        _whole_company(self.grant)
        created = approve_evidence_deletion(
            grant=self.grant, identifier=body["id"], deletion=deletion, reason=body.get("reason"), now=self.now
        )
        return Response(find_deletion(self.grant, deletion), status=created_status(created.is_new))


class EvidenceDeletionDeclinesView(RecordView):
    @operation(
        summary="Decline a proposed deletion, with a reason",
        roles=DELETERS,
        request=NewReason,
        request_example=schemas.DECLINE_REQUEST,
        answers={201: schemas.DeletionDocument, 200: schemas.DeletionDocument},
        example=schemas.DECLINED,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, deletion: UUID) -> Response:
        body = read_body(NewReason, request.data)
        _whole_company(self.grant)
        created = decline_evidence_deletion(
            grant=self.grant, identifier=body["id"], deletion=deletion, reason=body["reason"], now=self.now
        )
        return Response(find_deletion(self.grant, deletion), status=created_status(created.is_new))
