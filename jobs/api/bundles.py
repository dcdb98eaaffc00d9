"""The bundle of a job, for whoever has to prove or doubt it."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework.request import Request

from jobs.services.export_bundle import export_bundle
from shops.api.operation import operation
from shops.api.view import RecordView
from shops.domain.access import AUDITORS, Role
from shops.domain.errors import NotFound, TooLarge

ZIP = "application/zip"


class JobBundleView(RecordView):
    @operation(
        summary="Export a job as a bundle: a zip with which anybody can verify it offline",
        description="Entries as sent, receipts, procedure, keys, qualifications, calibrations, kits, releases and what "
        "became of them, each row with its proof in the log, and what the record claims of them; its format is told in "
        "docs/bundle-format.md. `python -m jobs.verify` recomputes all of it. Every export is written down in the "
        "access log.",
        roles=AUDITORS | {Role.LEAD},
        answers={(200, ZIP): OpenApiTypes.BINARY},
        problems=[NotFound, TooLarge],
        tag="Audit",
        is_export=True,
    )
    def get(self, request: Request, job: UUID) -> HttpResponse:
        raw = export_bundle(grant=self.grant, job=job, now=self.now)
        headers = {"Content-Disposition": f'attachment; filename="{job}.zip"', "Cache-Control": "no-store"}
        return HttpResponse(raw, content_type=ZIP, headers=headers)
