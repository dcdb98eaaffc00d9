"""Releases as they stand: read, suspend, lift, revoke. None is ever deleted."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from jobs.api import dispatch_examples as examples
from jobs.api import dispatch_schemas as schemas
from jobs.api import jobs
from jobs.api.next_inspection import INSPECTION
from jobs.queries.releases import RELEASES, find_release, list_releases
from jobs.queries.unit_wear import inspection_of
from jobs.services.lift_suspension import lift_suspension
from jobs.services.revoke_release import revoke_release
from jobs.services.suspend_release import suspend_release
from shops.api import refused
from shops.api.bodies import read_body, read_query
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.pages import page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import DECIDERS, EVERYBODY
from shops.domain.errors import Conflict

TAG = "Releases"


class ReleasesView(jobs.ReleasesView):
    """Signed documents are posted as the job's resources have it; here they are listed."""

    @operation(
        summary="List releases, oldest first",
        roles=EVERYBODY,
        answers={200: page_schema(schemas.ReleaseDocument)},
        example={"items": [examples.RELEASE_READ], "next": None},
        problems=refused.LIST,
        parameters=[schemas.ReleaseQuery],
        tag=TAG,
    )
    def get(self, request: Request) -> Response:
        query = read_query(schemas.ReleaseQuery, request)
        return Response(page_document(list_releases(self.grant, page_ask(query, RELEASES.order), query)))


class ReleaseView(RecordView):
    @operation(
        summary="Read a release and what has become of it",
        roles=EVERYBODY,
        answers={200: schemas.ReleaseRead},
        example={**examples.RELEASE_READ, "next_inspection": INSPECTION},
        problems=refused.READ,
        tag=TAG,
    )
    def get(self, request: Request, release: UUID) -> Response:
        found = find_release(self.grant, release)
        inspection = inspection_of(self.grant, found["unit"], found["version"])
        return Response({**found, "next_inspection": inspection})


class ReleaseSuspensionsView(RecordView):
    @operation(
        summary="Suspend a release until the suspension is lifted",
        description="The unit is not available from now on. What a lead suspends, a lead or quality lifts; what "
        "quality or the record itself suspends, only quality lifts.",
        roles=DECIDERS,
        request=schemas.NewSuspension,
        request_example=examples.SUSPENSION_REQUEST,
        answers={201: schemas.ReleaseDocument, 200: schemas.ReleaseDocument},
        example=examples.RELEASE_READ,
        problems=[*refused.CREATE, Conflict],
        tag=TAG,
    )
    def post(self, request: Request, release: UUID) -> Response:
        asked = read_body(schemas.NewSuspension, request.data)
        created = suspend_release(
            grant=self.grant,
            identifier=asked["id"],
            release=release,
            code=asked["code"],
            reason=asked["reason"],
            now=self.now,
        )
        return Response(find_release(self.grant, release), status=created_status(created.is_new))


class SuspensionLiftingsView(RecordView):
    @operation(
        summary="Lift a suspension",
        description="A lead lifts what a lead has suspended; quality lifts all. The release counts again unless "
        "something else stands against it.",
        roles=DECIDERS,
        request=schemas.NewReason,
        request_example=examples.LIFTING_REQUEST,
        answers={201: schemas.ReleaseDocument, 200: schemas.ReleaseDocument},
        example=examples.LIFTED,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, suspension: UUID) -> Response:
        asked = read_body(schemas.NewReason, request.data)
        lifted = lift_suspension(
            grant=self.grant, identifier=asked["id"], suspension=suspension, reason=asked["reason"], now=self.now
        )
        release = find_release(self.grant, lifted.row.suspension.release_id)
        return Response(release, status=created_status(lifted.is_new))


class ReleaseRevocationsView(RecordView):
    @operation(
        summary="Revoke a release for ever",
        description="It never counts again: the unit needs a new rebuild and a new release.",
        roles=DECIDERS,
        request=schemas.NewReason,
        request_example=examples.REVOCATION_REQUEST,
        answers={201: schemas.ReleaseDocument, 200: schemas.ReleaseDocument},
        example=examples.REVOKED,
        problems=refused.CREATE,
        tag=TAG,
    )
    def post(self, request: Request, release: UUID) -> Response:
        asked = read_body(schemas.NewReason, request.data)
        created = revoke_release(
            grant=self.grant, identifier=asked["id"], release=release, reason=asked["reason"], now=self.now
        )
        return Response(find_release(self.grant, release), status=created_status(created.is_new))
