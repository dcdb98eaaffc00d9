"""The readings of a job, each explained."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.judgement_examples import JUDGEMENT
from inspections.api.judgement_schemas import GeometryDocument, JudgementDocument
from inspections.api.unit_query import UnitName
from jobs.queries.job_views import POSITION_ORDER
from jobs.queries.length_unit import length_unit_of
from jobs.queries.reading_views import job_readings
from jobs.services.read_job import read_job
from shops.api.bodies import read_query
from shops.api.operation import operation
from shops.api.pages import PageQuery, page_ask, page_document, page_schema
from shops.api.view import RecordView
from shops.domain.access import EVERYBODY
from shops.domain.errors import BadInput, NotFound, NotPermitted

EXAMPLE: dict[str, Any] = {
    "entry": "019cae30-2c00-7000-8000-000000000219",
    "position": 19,
    "kind": "reading",
    "amends": None,
    "by": "RM",
    "performed_at": "2026-03-02T18:40:00.000000Z",
    "credit": True,
    "reason": None,
    "step": "measure-lock",
    "characteristic": "jaw-gap",
    "title": "Jaw gap",
    "governs": True,
    "typed": {
        "values": [{"text": ".218", "unit": "in"}, {"text": ".221", "unit": "in"}, {"text": ".219", "unit": "in"}],
        "grid": None,
        "bore": None,
        "state": "jaws closed on the test kingpin",
        "plate_temperature": {"text": "74", "unit": "degF"},
        "air_temperature": {"text": "72", "unit": "degF"},
    },
    "instrument": {
        "code": "FG-11",
        "kind": "feeler_set",
        "status": "in_date",
        "trusted": True,
        "message": "",
        "uncertainty": "0.0102",
        "unit": "in",
    },
    "judgement": JUDGEMENT,
    "doubt": None,
    "geometry": None,
    "corrections": [],
}


class ReadingQuery(PageQuery):
    unit = UnitName(required=False, max_length=16, help_text="The reader's unit; without it, the shop's.")


class TypedSchema(serializers.Serializer[Any]):
    """As it was typed, character for character."""

    values = serializers.ListField(child=serializers.DictField())
    grid = serializers.DictField(allow_null=True)
    bore = serializers.DictField(allow_null=True)
    state = serializers.CharField(allow_null=True)
    plate_temperature = serializers.DictField(allow_null=True)
    air_temperature = serializers.DictField(allow_null=True)


class GaugeThenSchema(serializers.Serializer[Any]):
    """The gauge as it stood when it was used, whatever was found later."""

    code = serializers.CharField()
    kind = serializers.CharField()
    status = serializers.CharField()
    trusted = serializers.BooleanField()
    message = serializers.CharField()
    uncertainty = serializers.CharField(help_text="Expanded, k = 2.")
    unit = serializers.CharField()


class CorrectionMadeSchema(serializers.Serializer[Any]):
    entry = serializers.UUIDField()
    correction = serializers.CharField()
    by = serializers.CharField()
    at = serializers.DateTimeField()


class ReadingOfJobSchema(serializers.Serializer[Any]):
    entry = serializers.UUIDField()
    position = serializers.IntegerField()
    kind = serializers.CharField()
    amends = serializers.UUIDField(allow_null=True)
    by = serializers.CharField()
    performed_at = serializers.DateTimeField()
    credit = serializers.BooleanField(help_text="Of the entry, as the facts are now.")
    reason = serializers.CharField(allow_null=True)
    step = serializers.CharField()
    characteristic = serializers.CharField()
    title = serializers.CharField(allow_null=True)
    governs = serializers.BooleanField(help_text="Whether it is the reading that the characteristic rests on now.")
    typed = TypedSchema()
    instrument = GaugeThenSchema(allow_null=True)
    judgement = JudgementDocument(allow_null=True, help_text="Null if the step does not measure this.")
    doubt = serializers.CharField(allow_null=True, help_text="Why it is doubted: its gauge was found bad later.")
    geometry = GeometryDocument(allow_null=True)
    corrections = CorrectionMadeSchema(many=True, help_text="All that were made on the characteristic, with credit.")


class JobReadingsView(RecordView):
    @operation(
        summary="Read every reading of a job: as typed, exact, explained, with its gauge and the shape behind it",
        description="A page counts entries; an entry may hold several readings.",
        roles=EVERYBODY,
        answers={200: page_schema(ReadingOfJobSchema)},
        example={"items": [EXAMPLE], "next": None},
        problems=[NotFound, NotPermitted, BadInput],
        parameters=[ReadingQuery],
        tag="Jobs",
    )
    def get(self, request: Request, job: UUID) -> Response:
        asked = read_query(ReadingQuery, request)
        read = read_job(grant=self.grant, job=job)
        unit = asked.get("unit") or length_unit_of(read.row.shop)
        ask = page_ask(asked, POSITION_ORDER)
        return Response(page_document(job_readings(self.grant.company, job, read.bench, ask, unit)))
