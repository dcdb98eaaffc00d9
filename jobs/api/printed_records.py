"""The record of a job on paper, and what has become of the job since it was printed."""

import re
from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

from django.db import transaction
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.unit_query import UnitQuery
from jobs.api.job_schemas import JOB_STATES
from jobs.printed_record.page_size import PageSize
from jobs.printed_record.printing import Wishes
from jobs.queries.chain_heads import find_chain_head
from jobs.services.print_record import print_record
from shops.api.bodies import read_query
from shops.api.operation import operation
from shops.api.view import OpenView, RecordView
from shops.domain.access import AUDITORS, Role
from shops.domain.errors import BadInput, NotFound, RecordDamaged, TooLarge
from shops.queries.access import enter_company

PDF: Final = "application/pdf"
_DIGEST: Final = re.compile(r"[0-9a-f]{64}")


class PrintQuery(UnitQuery):
    paper = serializers.ChoiceField(
        [size.value for size in PageSize],
        required=False,
        help_text="The size of the paper; without it, Letter for shops in American time zones, else A4.",
    )


class JobPrintedRecordView(RecordView):
    of_one_snapshot = True

    @operation(
        summary="Print the record of a job as a PDF, drawn from its bundle",
        description="Identity, steps and who did them, every reading drawn against its limits and explained, kit, "
        "torque, adjustment, verification, exceptions, signatures and proof. It says what the bundle of the same "
        "moment says, recomputed; `python -m jobs.printed_record BUNDLE` draws the same from the bundle alone. It is "
        "an export, and is written down in the access log.",
        roles=AUDITORS | {Role.LEAD},
        answers={(200, PDF): OpenApiTypes.BINARY},
        problems=[NotFound, BadInput, TooLarge, RecordDamaged],
        parameters=[PrintQuery],
        tag="Audit",
        is_export=True,
    )
    def get(self, request: Request, job: UUID) -> HttpResponse:
        asked = read_query(PrintQuery, request)
        wishes = Wishes(asked.get("unit"), PageSize(asked["paper"]) if "paper" in asked else None)
        raw = print_record(grant=self.grant, job=job, wishes=wishes, now=self.now)
        headers = {"Content-Disposition": f'inline; filename="{job}.pdf"', "Cache-Control": "no-store"}
        return HttpResponse(raw, content_type=PDF, headers=headers)


class HeadReleaseSchema(serializers.Serializer[Any]):
    version = serializers.IntegerField()
    released_at = serializers.DateTimeField()
    state = serializers.ChoiceField(["in_force", "suspended", "revoked", "superseded"])


class ChainHeadSchema(serializers.Serializer[Any]):
    job = serializers.UUIDField()
    chain_head = serializers.CharField()
    position = serializers.IntegerField(help_text="How many entries the record had under this head.")
    entries_since = serializers.IntegerField()
    is_newest = serializers.BooleanField(help_text="Whether nothing was entered since.")
    state = serializers.ChoiceField(JOB_STATES)
    release = HeadReleaseSchema(allow_null=True)
    bundle = serializers.CharField(help_text="Where somebody with a token gets what proves it.")
    asked_at = serializers.DateTimeField()


EXAMPLE: Final[dict[str, Any]] = {
    "job": "019cae30-2c00-7000-8000-000000004107",
    "chain_head": "10099107cebcf5528c60cdefda7674d6167c100bbd89f956df889ce5ca5fd2bd",
    "position": 28,
    "entries_since": 0,
    "is_newest": True,
    "state": "released",
    "release": {"version": 1, "released_at": "2026-03-02T20:25:00.000000Z", "state": "in_force"},
    "bundle": "/v1/jobs/019cae30-2c00-7000-8000-000000004107/bundle",
    "asked_at": "2026-03-04T13:10:00.000000Z",
}


class ChainHeadView(OpenView):
    @operation(
        summary="Ask whether a printed record is the newest state of its job",
        description="Where the QR code of a printed record leads. It takes no token: who names the chain head, a "
        "SHA-256 that nobody guesses, holds the record. It says how many entries came since and what became of the "
        "release, and nothing else. It is the server's word; the bundle is the proof.",
        roles=None,
        answers={200: ChainHeadSchema},
        problems=[NotFound],
        example=EXAMPLE,
        tag="Audit",
    )
    def get(self, request: Request, company: UUID, job: UUID, head: str) -> Response:
        if _DIGEST.fullmatch(head) is None:
            raise NotFound
        with transaction.atomic():
            enter_company(company)
            found = find_chain_head(company, job, bytes.fromhex(head), datetime.now(UTC))
        if found is None:
            raise NotFound
        return Response(found, headers={"Cache-Control": "no-store"})
