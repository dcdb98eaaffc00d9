"""Jobs: open, list, read; their steps, gate, entries; all that a phone needs offline; releases."""

from typing import Any
from uuid import UUID

import orjson
from django.conf import settings
from drf_spectacular.types import OpenApiTypes
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.unit_query import UnitQuery
from jobs.api import job_examples as examples
from jobs.api import job_schemas as schemas
from jobs.api.entries import DEVICE_TIME, ENTRY_PROBLEMS, JWS_EXAMPLE, device_time
from jobs.domain.gate import worth_a_look
from jobs.models.procedure_revision import ProcedureRevision
from jobs.models.release import Release
from jobs.queries.job_views import (
    JOB_ORDER,
    POSITION_ORDER,
    JobFilter,
    all_job_entries,
    job_entries,
    job_head,
    job_heads,
    people_document,
)
from jobs.queries.length_unit import length_unit_of
from jobs.queries.log import latest_checkpoint
from jobs.queries.step_views import steps_document
from jobs.queries.unit_wear import inspection_of
from jobs.services.open_job import JobRequest, open_job
from jobs.services.read_job import JobRead, gate_of, read_job
from jobs.services.release_job import release_job
from shops.api.bodies import read_body, read_query
from shops.api.etags import etag
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document
from shops.api.rendering import JoseParser, raw_body
from shops.api.view import RecordView
from shops.domain.access import BENCH, DECIDERS, EVERYBODY, Role
from shops.domain.errors import (
    AlreadyExists,
    BadInput,
    ChainHeadMoved,
    GateClosed,
    JobAlreadyOpen,
    NotFound,
    TooLarge,
    UnsupportedMedia,
)

OPENERS = frozenset({Role.TECHNICIAN, Role.LEAD, Role.DISPATCH})
READERS = EVERYBODY


class JobsView(RecordView):
    @operation(
        summary="List jobs, newest first",
        roles=READERS,
        answers={200: schemas.JobListSchema},
        example={"items": [examples.JOB], "next": None},
        problems=[BadInput],
        parameters=[schemas.JobQuery],
        tag="Jobs",
    )
    def get(self, request: Request) -> Response:
        query = read_query(schemas.JobQuery, request)
        wanted = JobFilter(**{name: query.get(name) for name in ("state", "shop", "unit", "reference")})
        return Response(page_document(job_heads(self.grant, wanted, page_ask(query, JOB_ORDER))))

    @operation(
        summary="Open a job on a unit",
        description="Pins the revision of the procedure that is in force, unless one is named. A unit and a casting "
        "have at most one open job.",
        roles=OPENERS,
        request=schemas.JobRequestSchema,
        request_example=examples.JOB_REQUEST,
        answers={201: schemas.JobSchema, 200: schemas.JobSchema},
        example=examples.JOB,
        problems=[BadInput, NotFound, AlreadyExists, JobAlreadyOpen, TooLarge, UnsupportedMedia],
        tag="Jobs",
    )
    def post(self, request: Request) -> Response:
        data = read_body(schemas.JobRequestSchema, request.data)
        job, is_new = open_job(grant=self.grant, request=JobRequest(**data), now=self.now)
        head = job_head(self.grant, job.id)
        return Response(head, status=201 if is_new else 200)


class JobView(RecordView):
    @operation(
        summary="Read a job",
        roles=READERS,
        answers={200: schemas.JobSchema},
        example=examples.JOB,
        problems=[NotFound],
        tag="Jobs",
    )
    def get(self, request: Request, job: UUID) -> Response:
        head = job_head(self.grant, job)
        if head is None:
            raise NotFound("There is no such job.")
        return Response(head, headers={"ETag": etag(head["version"])})


class JobStepsView(RecordView):
    @operation(
        summary="Read a job's steps: cautions first, what each waits for, who may do it, what it would undo",
        description="What was measured is explained in the reader's unit: `unit` if it is named, else the shop's.",
        roles=READERS,
        answers={200: schemas.StepListSchema},
        example={"items": [examples.STEP]},
        problems=[NotFound, BadInput],
        parameters=[UnitQuery],
        tag="Jobs",
    )
    def get(self, request: Request, job: UUID) -> Response:
        asked = read_query(UnitQuery, request)
        read = read_job(grant=self.grant, job=job)
        unit = asked.get("unit") or length_unit_of(read.row.shop)
        return Response({"items": steps_document(read.bench, self.now, unit)})


class JobGateView(RecordView):
    @operation(
        summary="Read a job's gate: everything that is unmet, at once",
        roles=READERS,
        answers={200: schemas.GateSchema},
        example=examples.GATE,
        problems=[NotFound],
        tag="Jobs",
    )
    def get(self, request: Request, job: UUID) -> Response:
        return Response(gate_document(self, read_job(grant=self.grant, job=job)))


def gate_document(view: RecordView, read: JobRead) -> dict[str, Any]:
    blockers = gate_of(grant=view.grant, read=read, now=view.now)
    return {
        "open": not blockers and read.row.state == "open",
        "chain_head": read.row.chain_head.hex(),
        "blockers": [blocker.document() for blocker in blockers],
        "flags": [flag.document() for flag in worth_a_look(read.bench)],
    }


class JobEntriesView(RecordView):
    @operation(
        summary="Read a job's entries as they were sent, with receipt and credit",
        roles=READERS,
        answers={200: schemas.EntryListSchema},
        example={"items": [examples.ENTRY], "next": None},
        problems=[NotFound, BadInput],
        parameters=[PageQuery],
        tag="Jobs",
    )
    def get(self, request: Request, job: UUID) -> Response:
        if job_head(self.grant, job) is None:
            raise NotFound("There is no such job.")
        ask = page_ask(read_query(PageQuery, request), POSITION_ORDER)
        return Response(page_document(job_entries(self.grant, job, ask)))


class OfflinePackView(RecordView):
    @operation(
        summary="Fetch all that a job needs for offline work, in one call",
        description="Job, steps with their cautions, gate, entries, the published procedure, people, instruments, the "
        "log's newest checkpoint. Claim the job too, if entries will be made offline: the gate then waits for them.",
        roles=BENCH,
        answers={200: schemas.OfflinePackSchema},
        example=examples.OFFLINE_PACK,
        problems=[NotFound],
        tag="Jobs",
    )
    def get(self, request: Request, job: UUID) -> Response:
        read = read_job(grant=self.grant, job=job)
        revisions = ProcedureRevision.objects.values_list("canonical", flat=True)
        canonical = revisions.get(digest=read.bench.procedure.digest)
        newest = latest_checkpoint(self.grant.company)
        return Response(
            {
                "job": job_head(self.grant, job),
                "steps": steps_document(read.bench, self.now, length_unit_of(read.row.shop)),
                "gate": gate_document(self, read),
                "entries": all_job_entries(self.grant, job),
                "procedure": orjson.loads(canonical),
                "people": people_document(read.facts.facts),
                "instruments": [
                    {"code": i.code, "kind": i.kind.value, "unit": i.unit}
                    for i in read.facts.facts.instruments.values()
                ],
                "checkpoint": newest.document() if newest else None,
            }
        )


class ReleasesView(RecordView):
    parser_classes = [JoseParser]

    @operation(
        summary="Release a job",
        description="The body is a signed entry of kind release over the job's chain head. A closed gate refuses it "
        "with every unmet condition in `blockers`; a head that has moved is a conflict. A release says nothing of a "
        "trailer's kingpin, and does not replace the coupling maker's instructions or local codes.",
        roles=DECIDERS,
        request={"application/jose": OpenApiTypes.STR},
        request_example=JWS_EXAMPLE,
        answers={201: schemas.ReleaseSchema, 200: schemas.ReleaseSchema},
        example=examples.RELEASE_SIGNED,
        problems=[*ENTRY_PROBLEMS, GateClosed, ChainHeadMoved],
        parameters=[DEVICE_TIME],
        tag="Releases",
    )
    def post(self, request: Request) -> Response:
        release, recorded = release_job(
            grant=self.grant,
            token=raw_body(request, JoseParser.media_type, settings.BODY_LIMIT),
            device_time=device_time(request.META.get("HTTP_DEVICE_TIME")),
            now=self.now,
        )
        inspection = inspection_of(self.grant, release.unit_id, release.version)
        document = {**release_document(release), "next_inspection": inspection}
        return Response(document, status=201 if recorded.is_new else 200)


def release_document(release: Release) -> dict[str, Any]:
    return {
        "id": release.id,
        "job": release.job_id,
        "unit": release.unit_id,
        "version": release.version,
        "released_at": release.released_at,
        "limited_until_follow_up": release.limited_until_follow_up,
        "follow_up_due_at": release.follow_up_due_at,
        "next_inspection_at": release.next_inspection_at,
    }
