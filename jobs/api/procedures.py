"""Procedures: publish a revision, list them, read one as it was published."""

from dataclasses import asdict
from typing import Any

from django.conf import settings
from django.db.models import F
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.domain.procedure import Procedure
from jobs.models.procedure_revision import ProcedureRevision
from jobs.services.publish_procedure import publish_procedure
from shops.api.operation import operation
from shops.api.rendering import YamlParser, raw_body
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY, Role
from shops.domain.errors import (
    AlreadyExists,
    BadInput,
    NotFound,
    ProcedureRefused,
    TooLarge,
    UnsupportedMedia,
)

PUBLISHERS = frozenset({Role.QUALITY, Role.LEAD, Role.ADMINISTRATOR})
EXAMPLE = {
    "digest": "6198fa40b1c2d3e4f5061728394a5b6c7d8e9f00112233445566778899aabbcc",
    "procedure": "PR-11",
    "revision": 4,
    "title": "Rebuild of the BW-T2 coupling",
    "coupling": "BW-T2",
    "in_force_from": "2026-01-15T06:00:00Z",
    "safety_critical": False,
    "steps": 26,
}


PUBLISHED = {
    **EXAMPLE,
    "warnings": [
        {
            "code": "torque_low",
            "step": "cam-bolt-torque",
            "about": "cam-bolt",
            "message": "Cam bolt: 120 lbf.in on a grade 8 thread, oiled, clamps with about 4 % of proof load (3 % to "
            "6 % as friction varies). Low: expected 1068 lbf.in to 2746 lbf.in. Is the unit right, or the grade, or "
            "the lubrication?",
        }
    ],
}


class RevisionSchema(serializers.Serializer[Any]):
    digest = serializers.CharField(help_text="SHA-256 of the canonical JSON: the revision's name for ever.")
    procedure = serializers.CharField()
    revision = serializers.IntegerField()
    title = serializers.CharField()
    coupling = serializers.CharField()
    in_force_from = serializers.DateTimeField()
    safety_critical = serializers.BooleanField()
    steps = serializers.IntegerField(required=False)


class ProcedureWarningSchema(serializers.Serializer[Any]):
    code = serializers.CharField()
    step = serializers.CharField()
    about = serializers.CharField(help_text="A fastener or reading of the step.")
    message = serializers.CharField()


class PublishedSchema(RevisionSchema):
    warnings = ProcedureWarningSchema(many=True, help_text="What the author should look at again; it is published.")


class RevisionListSchema(serializers.Serializer[Any]):
    items = RevisionSchema(many=True)


class ProcedureRevisionsView(RecordView):
    parser_classes = [YamlParser]

    @operation(
        summary="List the published revisions",
        roles=EVERYBODY,
        answers={200: RevisionListSchema},
        example={"items": [{k: v for k, v in EXAMPLE.items() if k != "steps"}]},
        tag="Procedures",
    )
    def get(self, request: Request) -> Response:
        rows = ProcedureRevision.objects.order_by("code", "revision").values(
            "digest", "revision", "title", "coupling", "in_force_from", "safety_critical", procedure=F("code")
        )
        return Response({"items": list(rows)})

    @operation(
        summary="Publish a procedure revision",
        description="The body is YAML. Publishing proves the procedure and refuses it with the offending steps named; "
        "what is published is immutable and named by its digest.",
        roles=PUBLISHERS,
        request={"application/yaml": OpenApiTypes.STR},
        request_example="procedure: PR-11\nrevision: 4\ntitle: Rebuild of the BW-T2 coupling\n…",
        answers={201: PublishedSchema, 200: PublishedSchema},
        example=PUBLISHED,
        problems=[BadInput, ProcedureRefused, AlreadyExists, TooLarge, UnsupportedMedia],
        tag="Procedures",
    )
    def post(self, request: Request) -> Response:
        try:
            text = raw_body(request, YamlParser.media_type, settings.PROCEDURE_BODY_LIMIT).decode()
        except UnicodeDecodeError as error:
            raise BadInput(f"The YAML is not UTF-8: {error.reason}.") from None
        published = publish_procedure(grant=self.grant, text=text, now=self.now)
        warnings = [asdict(warning) for warning in published.warnings]
        document = {**_document(published.procedure), "warnings": warnings}
        return Response(document, status=201 if published.is_new else 200)


def _document(procedure: Procedure) -> dict[str, Any]:
    return {
        "digest": procedure.digest,
        "procedure": procedure.code,
        "revision": procedure.revision,
        "title": procedure.title,
        "coupling": procedure.coupling,
        "in_force_from": procedure.in_force_from,
        "safety_critical": procedure.safety_critical,
        "steps": len(procedure.steps),
    }


class ProcedureRevisionView(RecordView):
    @operation(
        summary="Read a revision as it was published",
        description="The canonical JSON, byte for byte: its SHA-256 is the digest in the address.",
        roles=EVERYBODY,
        answers={200: OpenApiTypes.OBJECT},
        example={"procedure": "PR-11", "revision": 4, "title": "Rebuild of the BW-T2 coupling"},
        problems=[NotFound],
        tag="Procedures",
    )
    def get(self, request: Request, digest: str) -> HttpResponse:
        row = ProcedureRevision.objects.filter(digest=digest).values_list("canonical", flat=True).first()
        if row is None:
            raise NotFound
        return HttpResponse(row.encode(), content_type="application/json")
