"""A gauge found bad: what it put in doubt, and which releases it hit."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.queries.instruments import find_calibration
from jobs.models.found_bad_report import FoundBadReport
from jobs.services.report_found_bad import report_found_bad
from shops.api.etags import created_status
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import AUDITORS, Role
from shops.domain.errors import Conflict, NotFound

REPORTERS = frozenset({Role.INSTRUMENTS, Role.QUALITY, Role.ADMINISTRATOR})
READERS = REPORTERS | AUDITORS | {Role.LEAD}
EXAMPLE: dict[str, Any] = {
    "id": "019d8a00-0000-7000-8000-0000000000e1",
    "calibration": "019d89ff-0000-7000-8000-0000000000e0",
    "made_at": "2026-04-14T15:00:00Z",
    "instrument": "FG-07",
    "message": "FG-07: 9 readings since the last good check. 1 to suspend, 2 to review, 6 clear, "
    "0 recorded fails that stand.",
    "readings": [
        {
            "entry": "019d4a00-0000-7000-8000-000000000184",
            "job": "019d49ff-0000-7000-8000-000000000001",
            "characteristic": "jaw-gap",
            "performed_at": "2026-03-20T15:10:00+00:00",
            "unit": "in",
            "recorded": "0.184",
            "corrected": "0.178",
            "recorded_verdict": "conditional",
            "corrected_verdict": "fail",
            "outcome": "suspend",
            "message": "Recorded 0.184 in, truly 0.178 in: outside the limits.",
            "release": "019d4b00-0000-7000-8000-0000000000f1",
        }
    ],
    "releases_suspended": ["019d4b00-0000-7000-8000-0000000000f1"],
    "releases_to_review": [],
    "other_uses": [],
}


class DoubtedReadingSchema(serializers.Serializer[Any]):
    entry = serializers.UUIDField()
    job = serializers.UUIDField()
    characteristic = serializers.CharField()
    performed_at = serializers.DateTimeField()
    unit = serializers.CharField()
    recorded = serializers.CharField(help_text="As it was judged when it was recorded: it stays.")
    corrected = serializers.CharField(
        allow_null=True, help_text="With the error as a bias; null where none was measured."
    )
    recorded_verdict = serializers.CharField()
    corrected_verdict = serializers.CharField()
    outcome = serializers.ChoiceField(["clear", "review", "suspend", "stands"])
    message = serializers.CharField()
    release = serializers.UUIDField(allow_null=True)


class OtherUseSchema(serializers.Serializer[Any]):
    entry = serializers.UUIDField()
    job = serializers.UUIDField()
    step = serializers.CharField()
    what = serializers.CharField()
    performed_at = serializers.DateTimeField()
    recorded = serializers.CharField(allow_null=True)
    corrected = serializers.CharField(allow_null=True, help_text="With the error as a bias, likeliest.")
    release = serializers.UUIDField(allow_null=True)


class FoundBadReportSchema(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    calibration = serializers.UUIDField()
    made_at = serializers.DateTimeField()
    instrument = serializers.CharField()
    message = serializers.CharField()
    readings = DoubtedReadingSchema(many=True)
    releases_suspended = serializers.ListField(child=serializers.UUIDField())
    releases_to_review = serializers.ListField(child=serializers.UUIDField())
    other_uses = OtherUseSchema(many=True, help_text="Torques and cycles: they are not judged anew, but reviewed.")


class FoundBadReportsView(RecordView):
    @operation(
        summary="Judge every reading of a gauge that was found bad",
        description="Lists each reading since the last good check, judges it anew with the error as a bias, suspends "
        "the releases that a reading no longer carries, and names those to review. Nothing is ever cleared by it. The "
        "worker does the same for every calibration that found a gauge bad; asking again answers the same report.",
        roles=REPORTERS,
        request=None,
        answers={201: FoundBadReportSchema, 200: FoundBadReportSchema},
        example=EXAMPLE,
        problems=[NotFound, Conflict],
        tag="Instruments",
    )
    def post(self, request: Request, calibration: UUID) -> Response:
        find_calibration(self.grant, calibration)
        report, is_new = report_found_bad(
            company=self.grant.company, calibration=calibration, recorded_by=self.grant.by, now=self.now
        )
        return Response(_document(report), status=created_status(is_new))

    @operation(
        summary="Read what a gauge found bad put in doubt",
        roles=READERS,
        answers={200: FoundBadReportSchema},
        example=EXAMPLE,
        problems=[NotFound],
        tag="Instruments",
    )
    def get(self, request: Request, calibration: UUID) -> Response:
        find_calibration(self.grant, calibration)
        report = FoundBadReport.objects.filter(calibration_id=calibration).first()
        if report is None:
            raise NotFound("There is no such report.")
        return Response(_document(report))


def _document(report: FoundBadReport) -> dict[str, Any]:
    return {
        "id": report.id,
        "calibration": report.calibration_id,
        "made_at": report.made_at,
        **report.document,
    }
